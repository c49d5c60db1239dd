"""An encounter as it was recorded, checked and expanded into atomic facts.

Here may stand: the models of an encounter, the normalising of what people write (sides, sites, values), the expansion
into facts, and the published JSON Schema. Nothing here words anything for a letter.
"""

"""The letter as a document model with provenance, and its composition through the clinic's templates.

Here may stand: the nodes of a letter, the sandbox that runs templates, and the composition. Nothing here knows a file
format or decides what is said.
"""

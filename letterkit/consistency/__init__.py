"""Query rules: what a careful senior would ask about a record before the letter goes out.

Here may stand: the rules, one small function each, a family a module; their registry. A rule may look at the whole
encounter and its facts, and may not change either. Documentation is generated from the registry.
"""

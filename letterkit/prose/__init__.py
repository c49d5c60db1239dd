"""How a statement is said: clauses, words and marks of English in the clinical register.

The stages are fixed: `places` (where), `clinical` (the clause, in several shapes), `writer` (which shape, how long).
Nothing here selects or drops a statement.
"""

"""What the letter says and in which order, before it is English.

Here may stand: the choice and order of statements, the grouping of many facts into one, the rows of the table of
measurements, and the choice of cautions. Nothing here writes a sentence.
"""

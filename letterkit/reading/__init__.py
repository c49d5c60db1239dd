"""The reading of pasted notes, and the read-back of finished prose, by rules alone.

A note becomes tokens (`tokens`), lines and sentences (`segments`), marks of the vocabulary (`vocabulary`, `marks`,
`values`), findings with their scope (`scope`, `sides`, `sites`), and whether they are of today (`context`); `assemble`
makes of them an encounter's findings. What cannot be read is handed back as unread text, never guessed. Nothing here
knows how the letter's prose is made, and spaCy is imported when the first note is read.
"""

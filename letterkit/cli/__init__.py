"""The commands. Nothing here decides, words or renders; a command reads its input, calls the core, and prints."""

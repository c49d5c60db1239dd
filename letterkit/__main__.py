"""`python -m letterkit` is the command `letterkit`."""

from letterkit.cli.main import main

if __name__ == "__main__":
    main()

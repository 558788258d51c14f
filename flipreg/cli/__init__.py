"""The command line: arguments in, one call of the library, and what it returns printed or written to files."""

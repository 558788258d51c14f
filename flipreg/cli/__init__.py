"""The command line: the only room that knows files and terminals."""

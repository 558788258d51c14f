"""Nothing here is collected: the target needs atheris, and is run by hand."""

collect_ignore_glob = ["*.py"]

"""Reports as JSON: one encoder writes every report from its dataclass, after a table of keys for each kind."""

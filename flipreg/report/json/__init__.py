"""Reports as JSON: one encoder writes every report from its dataclass."""

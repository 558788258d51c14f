"""The check of a whole job: faces in pairs, holes common to setups, jogs, travel, clamps, and the report."""

"""The setups of a job put together: pairs of faces, common holes, jogs, travel, clamps, and the report."""

"""Pipeline: files to checked rows, person store, facts and the frozen release."""

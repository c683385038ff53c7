"""Generator and dictionary of an invented institute whose truth is known."""

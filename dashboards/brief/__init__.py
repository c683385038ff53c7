"""The committee brief: one month on two to four pages, from the release only."""

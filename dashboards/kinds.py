"""Names for what the type checker cannot follow."""

from typing import Any

# pandas and HoloViews ship annotations by which a column may be an array and ``opts`` may return
# nothing. Calling their objects by these names says what they are without the checker guessing.
Frame = Any
"""A pandas.DataFrame."""

Row = Any
"""One row of a frame: a pandas.Series or a named tuple."""

Layer = Any
"""A HoloViews element or overlay."""

Day = Any
"""A pandas.Timestamp (its constructor is annotated as possibly returning NaT)."""

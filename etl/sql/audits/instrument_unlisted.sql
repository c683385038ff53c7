-- output: instruments used that the catalogue does not hold; their force is unknown
-- grain:  one row an instrument
-- time:   none
select distinct b.instrument as offender
from facts.bout_piece b anti join core.instruments i on i.instrument = b.instrument

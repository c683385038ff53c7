-- output: pieces of bouts that begin before an earlier one of the same person ends
-- grain:  one row a piece
-- time:   instants, shown in UTC
select concat_ws(' ', person, make_timestamp(start_us)) as offender
from facts.bout_piece
qualify start_us < lag(end_us) over (partition by person order by start_us, end_us)

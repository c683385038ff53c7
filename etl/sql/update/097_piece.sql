-- output: work_piece, the pieces on the days to reckon anew and on those that follow within a long rest
-- grain:  one row a piece
-- time:   start_us to end_us, microseconds UTC; local_date from {first_date} to {last_date}
-- The days that follow tell whether a spell goes on over midnight, and whether another one comes soon.
create or replace temp table work_piece as
select b.*
from facts.bout_piece b
semi join work_island i on i.person = b.person
where b.local_date between date '{first_date}' and date '{last_date}'

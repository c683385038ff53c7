-- output: work_new_piece, the pieces of bouts of the islands as they are now
-- grain:  as facts.bout_piece
-- time:   start_us to end_us, microseconds UTC; local_date
-- The layers number the spells of the islands alone; the numbers count on from the spells that stay before.
create or replace temp table work_new_piece as
{layers}
select b.* replace (b.spell + i.staying as spell)
from work_piece b
join work_island i on i.person = b.person and b.start_us between i.from_us and i.to_us

-- output: work_recorded, work_event_part: the logged work of the islands
-- grain:  one row a bout; a file, person, bucket and instrument
-- time:   as in the store, microseconds UTC
create or replace temp table work_recorded as
select b.*
from work_near_bout b
semi join work_island i on i.person = b.person and i.from_us <= b.start_us and i.to_us >= b.end_us;
create or replace temp table work_event_part as
select b.*
from work_near_part b
semi join work_island i on i.person = b.person and i.from_us <= b.first_us and i.to_us >= b.last_us

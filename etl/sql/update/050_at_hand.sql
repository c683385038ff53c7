-- output: work_recorded, work_event_part: the logged work of the islands
-- grain:  one row a bout; a file, person, bucket and instrument
-- time:   as in the store, microseconds UTC
-- Islands of a person lie apart, so the last one that began by then is the only one that can hold a row.
create or replace temp table work_recorded as
select b.*
from work_near_bout b
asof join work_island i on i.person = b.person and b.start_us >= i.from_us
where b.end_us <= i.to_us;
create or replace temp table work_event_part as
select b.*
from work_near_part b
asof join work_island i on i.person = b.person and b.first_us >= i.from_us
where b.last_us <= i.to_us

-- output: work_event_part, the stroke events of the islands, which lie within {first_us} to {last_us}
-- grain:  one row a file, person, bucket and instrument
-- time:   first_us to last_us, microseconds UTC
-- The outer limits are constants, so that what lies far away never reaches the join.
create or replace temp table work_event_part as
select b.*
from facts.event_bucket b
semi join work_island i on i.person = b.person and i.from_us <= b.first_us and i.to_us >= b.last_us
where b.first_us >= {first_us} and b.last_us <= {last_us}

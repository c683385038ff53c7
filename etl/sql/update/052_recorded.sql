-- output: work_recorded, the bouts of the islands, which lie within {first_us} to {last_us}
-- grain:  one row a bout
-- time:   start_us to end_us, microseconds UTC
create or replace temp table work_recorded as
select b.*
from core.bouts b
semi join work_island i on i.person = b.person and i.from_us <= b.start_us and i.to_us >= b.end_us
where b.start_us >= {first_us} and b.end_us <= {last_us}

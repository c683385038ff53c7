-- output: work_near_bout, work_near_part: all logged work around what was touched
-- grain:  a bout; a file, person, bucket and instrument
-- time:   within {margin_us} microseconds of a touched stretch; {first_us} to {last_us} hold all of these
-- The outer limits are constants, so that what lies far away never reaches the join.
create or replace temp table work_near_bout as
select b.*
from core.bouts b
semi join work_touched w
    on w.person = b.person and b.start_us <= w.to_us + {margin_us} and b.end_us >= w.from_us - {margin_us}
where b.start_us <= {last_us} + {margin_us} and b.end_us >= {first_us} - {margin_us};
create or replace temp table work_near_part as
select b.*
from facts.event_bucket b
semi join work_touched w
    on w.person = b.person and b.first_us <= w.to_us + {margin_us} and b.last_us >= w.from_us - {margin_us}
where b.first_us <= {last_us} + {margin_us} and b.last_us >= {first_us} - {margin_us}

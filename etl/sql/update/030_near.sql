-- output: work_window, work_near_bout, work_near_part: all logged work around what was touched
-- grain:  one row a person and UTC day touched; a bout; a file, person, bucket and instrument
-- time:   a window reaches {margin_us} microseconds beyond; windows may overlap
create or replace temp table work_window as
select person, from_us - {margin_us} as from_us, to_us + {margin_us} as to_us from work_touched_day;
create or replace temp table work_near_bout as
select b.*
from core.bouts b
semi join work_window w on w.person = b.person and b.start_us <= w.to_us and b.end_us >= w.from_us;
create or replace temp table work_near_part as
select b.*
from facts.event_bucket b
semi join work_window w on w.person = b.person and b.first_us <= w.to_us and b.last_us >= w.from_us

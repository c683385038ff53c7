-- output: work_log, as in facts/060_log, where nobody's bouts are at hand
-- grain:  one row a bout of stroke events
-- time:   start_us to end_us, microseconds UTC
-- Bouts of stroke events tile their spells: nothing to find out about overlaps, and their order is that of their
-- starts, one without length first.
create or replace temp table work_log as
select
    person, start_us, end_us, tz, 'UNKNOWN' as task, instrument, strokes, tips, null::varchar as station,
    'strokes' as origin, start_us * 2 + case when end_us > start_us then 1 else 0 end as place, null::bigint as knot
from work_event_bout

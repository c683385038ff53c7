-- output: work_bout, as in facts/090_bout, where nobody's bouts are at hand
-- grain:  one row a bout of stroke events
-- time:   start_us to end_us, microseconds UTC
-- Bouts of stroke events tile their spells: nothing to find out about overlaps, and their spells are known.
create or replace temp table work_bout as
select
    person, start_us, end_us, tz, 'UNKNOWN' as task, instrument, strokes, tips, null::varchar as station,
    'strokes' as origin, spell, spell_from_us
from work_event_bout

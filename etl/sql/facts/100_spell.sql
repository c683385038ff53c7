-- output: work_spell, stretches of work without a rest
-- grain:  one row a person and spell, numbered in time order
-- time:   start_us of the first bout to end_us of the last, UTC microseconds; working_us counts time in bouts
create or replace temp table work_spell as
select
    person, spell, min(start_us) as start_us, max(end_us) as end_us,
    sum(end_us - start_us)::bigint as working_us
from work_bout
group by person, spell
order by person, spell

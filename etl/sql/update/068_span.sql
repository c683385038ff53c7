-- output: work_span, how far around the islands facts may bear on the days to reckon anew
-- grain:  one row a person touched
-- time:   from_us to to_us, microseconds UTC
-- From two days before the end of the spell that precedes the islands to the first spell two days after them: that
-- holds every piece of these days and every rest that follows them.
create or replace temp table work_span as
with extent as (
    select person, min(from_us) as from_us, max(to_us) + 172800000000 as to_us from work_island group by person
)
select
    e.person,
    coalesce(max(p.end_us) filter (where p.start_us < e.from_us), e.from_us) - 172800000000 as from_us,
    coalesce(min(p.start_us) filter (where p.start_us > e.to_us), e.to_us) as to_us
from extent e left join facts.spell p on p.person = e.person
group by e.person, e.from_us, e.to_us

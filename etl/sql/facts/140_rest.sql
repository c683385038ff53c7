-- output: work_rest, rests between two spells
-- grain:  one row a rest
-- time:   local_date is the day of the work the rest follows; rest_us is its length in microseconds
-- It is the last local day of the ended spell. same_day tells a break in the working day from the way home.
create or replace temp table work_rest as
with edge as (
    select
        person, spell, max(local_date) as last_date, min(local_date) as first_date
    from work_piece
    group by person, spell
)
select
    e.person, e.last_date as local_date, n.start_us - s.end_us as rest_us,
    o.first_date = e.last_date as same_day
from work_spell s
join work_spell n on n.person = s.person and n.spell = s.spell + 1
join edge e on e.person = s.person and e.spell = s.spell
join edge o on o.person = n.person and o.spell = n.spell

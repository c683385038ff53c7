-- output: work_near_spell, the spells around the islands before and after the change; work_spell, those after it
-- grain:  one row a spell; spell is its number after the change, null where the spell is gone
-- time:   start_us to end_us, microseconds UTC, within the spans; {first_us} to {last_us} holds all spans
-- id is the row of a spell that stood before, null for a new one; number is what it had before, or among the new ones.
-- Numbers count on from the first spell of the span. last_before: the next spell is new or gone, so the rest between
-- may have changed.
create or replace temp table work_near_spell as
with own as (
    select
        p.rowid as id, p.person, p.spell as number, p.start_us, p.end_us, p.working_us,
        i.person is not null as gone
    from facts.spell p
    join work_span s on s.person = p.person and p.end_us >= s.from_us and p.start_us <= s.to_us
    left join work_island i on i.person = p.person and i.from_us <= p.start_us and i.to_us >= p.start_us
    where p.end_us >= {first_us} and p.start_us <= {last_us}
),
both_sides as (
    from own
    union all
    select null, person, spell, start_us, end_us, working_us, false from work_spell
)
select
    *,
    case
        when not gone then coalesce(min(number) filter (where id is not null) over person, 1) - 1
            + count(*) filter (where not gone) over (person order by start_us, gone)
    end as spell,
    id is not null and not gone and coalesce(lead(gone or id is null) over (person order by start_us, gone), false)
        as last_before
from both_sides
window person as (partition by person);
drop table work_spell;
create temp view work_spell as
select person, spell, start_us, end_us, working_us from work_near_spell where not gone

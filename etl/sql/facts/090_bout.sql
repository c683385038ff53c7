-- output: work_bout, the bouts that count, with the number and the beginning of their spell
-- grain:  one row a bout kept
-- time:   start_us to end_us, microseconds UTC, without overlap within a person
-- Spells are found along all of a person's work before any day is cut: a night shift stays in one piece.
create or replace temp table work_bout as
with kept as (
    select l.* exclude (knot) replace (coalesce(v.kept_from_us, l.start_us) as start_us)
    from work_log l
    left join work_verdict v on v.person = l.person and v.place = l.place
    where v.kept or v.kept is null
),
gap as (
    select *, start_us - lag(end_us) over (partition by person order by place) as rest_before_us from kept
)
select
    g.*,
    count(*) filter (where rest_before_us is null or rest_before_us >= s.rest_us) over so_far as spell,
    max(start_us) filter (where rest_before_us is null or rest_before_us >= s.rest_us) over so_far as spell_from_us
from gap g cross join facts.setting s
window so_far as (partition by person order by place rows unbounded preceding)

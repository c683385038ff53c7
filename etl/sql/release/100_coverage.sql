-- output: how much of a unit's work the log knows
-- grain:  one row a unit
-- time:   $month, the DATE of its first day
with listed as (
    select distinct p.level, p.unit, p.parent, r.person
    from facts.roster r join release_place p on p.team = r.team
    where r.month = $month
),
logged as (
    select
        p.level, p.unit, d.person, sum(d.pipetting_us)::bigint as us, sum(d.force_known_us)::bigint as known_us
    from facts.person_day d join release_place p on p.team = d.team
    where d.local_date >= $month and d.local_date < $month + interval 1 month
    group by p.level, p.unit, d.person
)
select
    l.level, l.unit, any_value(l.parent) as parent, count(*)::integer as people,
    count(g.person)::integer as logged, coalesce(sum(g.us), 0)::bigint as us,
    coalesce(sum(g.known_us), 0)::bigint as known_us
from listed l
left join logged g on g.level = l.level and g.unit = l.unit and g.person = l.person
group by l.level, l.unit
order by l.level, l.unit

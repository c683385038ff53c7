-- output: the units with their headcount of the month
-- grain:  one row a unit
-- time:   $month, the DATE of its first day; people on the roster on any day of it
with people as (
    select p.level, p.unit, count(distinct r.person) as people
    from facts.roster r join release_place p on p.team = r.team
    where r.month = $month
    group by p.level, p.unit
),
named as (
    select
        p.level, p.unit, any_value(p.parent) as parent,
        case p.level
            when 'organisation' then $institute when 'cluster' then min(t.cluster_name) else min(t.team_name)
        end as name,
        case when count(distinct t.site) = 1 then min(t.site) end as site
    from release_place p join core.teams t on t.team = p.team
    group by p.level, p.unit
)
select n.level, n.unit, n.name, n.parent, n.site, coalesce(q.people, 0)::integer as people
from named n left join people q on q.level = n.level and q.unit = n.unit
order by array_position(['organisation', 'cluster', 'team'], n.level), n.unit

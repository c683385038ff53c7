-- output: person-months that could have been answered, and how many of them were followed by leaving the team
-- grain:  one row
-- time:   months from $first to $month
with home as (
    select person, month, arg_max(team, (days_on_team, team)) as team
    from facts.roster where month between $first and $month group by person, month
)
select
    count(*)::integer as asked,
    (count(*) filter (where h.month < $month and n.team is distinct from h.team))::integer as gone,
    (count(*) filter (where h.month < $month))::integer as followed
from home h
left join home n on n.person = h.person and n.month = h.month + interval 1 month

-- output: people of each team
-- grain:  one row a team with people
-- time:   $month, the DATE of its first day
with home as (
    select person, arg_max(team, (days_on_team, team)) as team
    from facts.roster where month = $month group by person
)
select team, count(*)::integer as people from home where team is not null group by team order by team

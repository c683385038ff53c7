-- output: release_place, which units a team belongs to
-- grain:  one row a team and level (organisation, cluster, team)
-- time:   none; as the teams table says at the time of the release
create or replace temp table release_place as
select team, 'organisation' as level, 'ORG' as unit, null::varchar as parent from core.teams
union all
select team, 'cluster', cluster, 'ORG' from core.teams
union all
select team, 'team', team, cluster from core.teams

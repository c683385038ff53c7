-- output: teams that lie in more than one cluster
-- grain:  one row a team
-- time:   none
select team from core.teams group by team having count(distinct cluster) > 1 order by team

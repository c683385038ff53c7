-- output: teams whose cluster is no longer the one they were released in
-- grain:  one row a team and earlier cluster
-- time:   editions from $year_start on, such as '2026-01'
select distinct r.team, r.cluster as before, t.cluster as now
from release_private.roster r join core.teams t on t.team = r.team
where r.period >= $year_start and r.cluster <> t.cluster
order by r.team, r.cluster

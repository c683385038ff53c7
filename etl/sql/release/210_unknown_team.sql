-- output: teams with people but without a place among the teams
-- grain:  one row a team
-- time:   $month, the DATE of its first day
select distinct team from facts.roster where month = $month and cluster is null order by team

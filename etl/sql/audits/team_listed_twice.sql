-- output: teams listed more than once, so in more than one cluster perhaps
-- grain:  one row a team
-- time:   none
select team as offender from core.teams group by team having count(*) > 1

-- output: the same question of the same month held twice
-- grain:  one row a person, month, region, side and scale
-- time:   month
select concat_ws(' ', person, month, region, side) as offender
from core.surveys
group by person, month, region, side, scale
having count(*) > 1

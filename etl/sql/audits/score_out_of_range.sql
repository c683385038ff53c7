-- output: discomfort scores outside 0 to 10 on the 0-10 scale
-- grain:  one row an answer
-- time:   month
select concat_ws(' ', person, month, region, side) as offender
from core.surveys
where scale = 'NRS_0_10' and score not between 0 and 10

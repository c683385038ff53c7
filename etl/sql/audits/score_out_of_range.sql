-- output: discomfort scores outside 0 to 10, the range of all scales that a series may have
-- grain:  one row an answer
-- time:   month
select concat_ws(' ', person, month, region, side) as offender
from core.surveys
where scale in (select scale from facts.case_rule) and score not between 0 and 10

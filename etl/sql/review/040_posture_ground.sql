-- output: whether a month can be reviewed: reach of the answers, answers of the month, observations by its end
-- grain:  one row
-- time:   answers of all months; answered those of $month; observations up to the last day of $month
select
    min(month) as first, max(month) as last, count(*) filter (where month = $month) as answered,
    (select count(*) from core.observations where observed_on <= last_day($month)) as seen
from facts.symptom
where team is not null

-- output: first and last month with answers, and the regions asked about
-- grain:  one row
-- time:   months up to $month
select min(month) as first, max(month) as last
from facts.symptom where team is not null and ($month is null or month <= $month)

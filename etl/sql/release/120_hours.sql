-- output: hours worked and recorded cases of the organisation in a calendar year
-- grain:  one row
-- time:   $year; months counts the months with hours, so that a year with gaps is told apart
select
    count(distinct month)::integer as months, sum(hours_worked) as hours,
    sum(recordable_cases)::integer as recordable, sum(lost_time_cases)::integer as lost_time
from core.hours
where year(month) = $year

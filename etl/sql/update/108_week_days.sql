-- output: work_person_day, all days of the weeks of the days reckoned anew
-- grain:  one row a person and local day
-- time:   local_date
create or replace temp table work_person_day as
select p.*
from facts.person_day p
semi join (select distinct person, date_trunc('week', local_date) as week_start from work_day) w
    on w.person = p.person and w.week_start = date_trunc('week', p.local_date)

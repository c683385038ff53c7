-- output: facts.person_day with the days reckoned anew; work_week; work_person_day, all days of those weeks
-- grain:  as there; one row a person and week; a person and local day
-- time:   local_date; week_start is the Monday
delete from facts.person_day p using work_day d where d.person = p.person and d.local_date = p.local_date;
insert into facts.person_day
select p.* from work_person_day p semi join work_day d on d.person = p.person and d.local_date = p.local_date;
create or replace temp table work_week as
select distinct person, date_trunc('week', local_date)::date as week_start from work_day;
create or replace temp table work_person_day as
select p.*
from facts.person_day p
semi join work_week w on w.person = p.person and w.week_start = date_trunc('week', p.local_date)::date

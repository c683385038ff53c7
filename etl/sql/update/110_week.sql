-- output: facts.person_week with the weeks of the days reckoned anew
-- grain:  as there
-- time:   week_start is the Monday
delete from facts.person_week p using work_day d
where d.person = p.person and p.week_start = date_trunc('week', d.local_date);
insert into facts.person_week
{layers}
from work_person_week

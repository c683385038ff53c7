-- output: facts.person_day with the days to reckon anew exchanged
-- grain:  as there
-- time:   local_date
delete from facts.person_day p using work_day d where d.person = p.person and d.local_date = p.local_date;
insert into facts.person_day
{layers}
select p.* from work_person_day p semi join work_day d on d.person = p.person and d.local_date = p.local_date

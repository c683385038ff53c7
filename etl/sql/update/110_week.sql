-- output: facts.person_week with the weeks reckoned anew
-- grain:  as there
-- time:   as there
delete from facts.person_week p using work_week w where w.person = p.person and w.week_start = p.week_start;
insert into facts.person_week from work_person_week

-- output: facts.person_day without the days to reckon anew
-- grain:  as there
-- time:   local_date
delete from facts.person_day p using work_day d where d.person = p.person and d.local_date = p.local_date

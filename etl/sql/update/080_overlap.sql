-- output: facts.overlap without the rows of the islands
-- grain:  as there
-- time:   start_us, microseconds UTC
delete from facts.overlap o using work_island i
where o.person = i.person and o.start_us between i.from_us and i.to_us

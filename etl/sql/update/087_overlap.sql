-- output: facts.overlap with the islands' rows exchanged
-- grain:  as there
-- time:   start_us, microseconds UTC
delete from facts.overlap o using work_island i
where o.person = i.person and o.start_us >= i.from_us and o.start_us <= i.to_us;
insert into facts.overlap from work_overlap

-- output: facts.spell without the spells of the islands
-- grain:  as there
-- time:   start_us
delete from facts.spell p using work_island i
where i.person = p.person and p.start_us between i.from_us and i.to_us and p.start_us between {first_us} and {last_us}

-- output: spells shorter than the work in them
-- grain:  one row a spell
-- time:   instants, shown in UTC
select concat_ws(' ', person, spell) as offender from facts.spell where working_us > end_us - start_us

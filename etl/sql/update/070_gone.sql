-- output: facts.bout_piece without the pieces of the islands; the days that they lay on, to stand in a WITH
-- grain:  one row a piece that is gone
-- time:   local_date
gone as (
    delete from facts.bout_piece b using work_island i
    where i.person = b.person and b.start_us between i.from_us and i.to_us
        and b.start_us between {first_us} and {last_us}
    returning b.person, b.local_date
)

-- output: people whose recorded bout time is not the time in the facts plus what overlap took away
-- grain:  one row a person
-- time:   durations in microseconds
with account as (
    select person, end_us - start_us as length_us from core.bouts
    union all
    select person, -(end_us - start_us) from facts.bout_piece where origin = 'bouts'
    union all
    select person, -(case reason when 'W_CLIP' then clipped_us else end_us - start_us end)
    from facts.overlap where origin = 'bouts'
)
select person as offender from account group by person having sum(length_us) <> 0

-- output: people whose spells, days or weeks do not sum to the pieces of their bouts
-- grain:  one row a person
-- time:   durations in microseconds
with account as (
    select person, end_us - start_us as piece_us, strokes, 0 as spell_us, 0 as day_us, 0 as week_us,
        0 as day_strokes, 0 as week_strokes
    from facts.bout_piece
    union all
    select person, 0, 0, working_us, 0, 0, 0, 0 from facts.spell
    union all
    select person, 0, 0, 0, pipetting_us, 0, strokes, 0 from facts.person_day
    union all
    select person, 0, 0, 0, 0, pipetting_us, 0, strokes from facts.person_week
)
select person as offender
from account
group by person
having sum(piece_us) <> sum(spell_us) or sum(piece_us) <> sum(day_us) or sum(piece_us) <> sum(week_us)
    or sum(strokes) <> sum(day_strokes) or sum(strokes) <> sum(week_strokes)

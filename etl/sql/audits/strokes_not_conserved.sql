-- output: people whose recorded strokes are not those in the facts plus those of bouts left out
-- grain:  one row a person
-- time:   none
-- A stroke is a stroke of a bout, or a dispense of a stroke log.
with account as (
    select person, strokes from core.bouts
    union all
    select person, 1 from core.strokes where action = 'DISPENSE'
    union all
    select person, strokes from core.event_bucket
    union all
    select person, -strokes from facts.bout_piece
    union all
    select person, -strokes from facts.overlap where reason = 'E_OVERLAP'
)
select person as offender from account group by person having sum(strokes) <> 0

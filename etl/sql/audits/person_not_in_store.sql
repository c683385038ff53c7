-- output: people in the facts whom the store does not hold, as after a file was withdrawn
-- grain:  one row a fact table and person
-- time:   none
with known as (
    select person, 'work' as kind from core.bouts
    union select person, 'work' from core.strokes
    union select person, 'work' from core.event_bucket
    union select person, 'symptom' from core.surveys
    union select person, 'roster' from core.people
),
found as (
    select person, 'work' as kind from facts.person_day
    union select person, 'symptom' from facts.symptom
    union select person, 'roster' from facts.roster
)
select concat_ws(' ', f.kind, f.person) as offender
from found f anti join known k on k.person = f.person and k.kind = f.kind

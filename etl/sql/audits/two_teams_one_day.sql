-- output: people listed on two teams at once
-- grain:  one row a person and pair of spells
-- time:   local dates, both ends of a spell included
select concat_ws(' ', a.person, a.team, b.team, greatest(a.valid_from, b.valid_from)) as offender
from core.people a
join core.people b
    on a.person = b.person
    and (a.valid_from, a.team, a.file_id, a.row_number) < (b.valid_from, b.team, b.file_id, b.row_number)
where b.valid_from <= coalesce(a.valid_to, b.valid_from) and a.team <> b.team

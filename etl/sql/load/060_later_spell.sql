-- output: temp.later_spell, team spells that begin while an earlier one of the person on another team lasts
-- grain:  one row a person and first day
-- time:   local dates, both ends of a spell included
-- Earlier spells count whatever became of them, so that the verdict is the same for any order of files.
create or replace temp table later_spell as
with every as (
    select person, team, valid_from, valid_to from file_spell
    union all
    select person, team, valid_from, valid_to from core.people
    union all
    select person, team, valid_from, valid_to from loading.left_spell
)
select distinct later.person, later.valid_from
from every as earlier
join every as later
    on later.person = earlier.person and later.valid_from > earlier.valid_from and later.team <> earlier.team
    and later.valid_from <= coalesce(earlier.valid_to, later.valid_from)

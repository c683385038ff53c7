-- output: days a person has both in a bout log and in a stroke log
-- grain:  one row a person and day
-- time:   local_date
select concat_ws(' ', person, local_date) as offender
from facts.bout_piece
group by person, local_date
having count(distinct origin) > 1

-- output: days of work of people who are on no team that day; they count in no team
-- grain:  one row a person and day
-- time:   local_date
select concat_ws(' ', person, local_date) as offender from facts.person_day where team is null

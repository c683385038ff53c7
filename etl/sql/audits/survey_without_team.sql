-- output: answers of people who are on no team that month; they count in no team
-- grain:  one row a person and month
-- time:   month
select distinct concat_ws(' ', person, month) as offender from facts.symptom where team is null

-- output: local days with more than 24 hours of pipetting
-- grain:  one row a person and day
-- time:   local_date
select concat_ws(' ', person, local_date) as offender from facts.person_day where pipetting_us > 86400000000

-- output: answers on a scale other than the 0-10 rating; they are kept and count in no symptom fact
-- grain:  one row a scale
-- time:   none
select distinct scale as offender from core.surveys where scale <> 'NRS_0_10'

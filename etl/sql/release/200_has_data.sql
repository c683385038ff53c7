-- output: whether anything happened in a month
-- grain:  one row
-- time:   $first_day to $last_day; survey months are DATEs of first days
select
    exists (from facts.person_day where local_date between $first_day and $last_day)
    or exists (from facts.symptom where month = $first_day)

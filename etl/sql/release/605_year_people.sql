-- output: who was on a team in a year, whether still in its last month, and the age band where one is given
-- grain:  one row a person
-- time:   months from $first to $month
with band as (
    select person, arg_max(age_band, valid_from) as age_band from core.people
    where age_band is not null and valid_from <= $month group by person
)
select
    r.person, max(r.month) = $month as stayed, any_value(b.age_band) as age_band
from facts.roster r
left join band b on b.person = r.person
where r.month between $first and $month
group by r.person
order by r.person

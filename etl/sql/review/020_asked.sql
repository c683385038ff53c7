-- output: who was on the roster when, and whether any question was answered, with the mean score of that month
-- grain:  one row a person and month on the roster
-- time:   month_number = 12 * year + month - 1, up to $month
with home as (
    select person, month, arg_max(team, (days_on_team, team)) as team from facts.roster
    where month <= $month group by person, month
),
answer as (
    select person, month, avg(score) as score from facts.symptom where month <= $month group by person, month
)
select
    h.person, h.team, a.person is not null as answered, coalesce(a.score, 0)::double as score,
    (12 * year(h.month) + month(h.month) - 1)::integer as month_number
from home h
left join answer a on a.person = h.person and a.month = h.month
order by h.person, h.month

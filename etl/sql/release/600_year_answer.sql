-- output: answers of a year and of the year before, of everybody on a team, for statements on the organisation
-- grain:  one row a person, month and region
-- time:   month_number = 12 * year + month - 1, from $first to $month
-- Person rows: read by the release job, which states rounded results on at least 100 people and keeps none.
-- A rating on another scale than that of $month is none here, also where the scales were bridged: the bridge moves
-- the mark, not the ratings.
select
    s.person, s.region, (12 * year(s.month) + month(s.month) - 1)::integer as month_number, s.is_case,
    coalesce(case when r.scale = n.scale then s.score end, 'nan'::double) as score
from facts.symptom s
asof join facts.case_rule r on s.month >= r.since
cross join (select arg_max(scale, since) as scale from facts.case_rule where since <= $month::date) n
where s.team is not null and s.month between $first::date and $month::date
order by s.region, s.person, s.month

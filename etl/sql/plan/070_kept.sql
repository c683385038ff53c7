-- output: plans kept, in the columns of release table plan, without the edition
-- grain:  one row a plan
-- time:   kept_at and first_start as DATEs
select
    plan, title, 'kept' as status, kept_at::date as drawn_on, region, kind, seed, steps, changed, others,
    months, first_start, fall_points, points, points_error, found_percent, found_error, worlds, smallest_p,
    case_months, cost, case_cost, case_low, case_high, cannot
from core.plan
where kept_at::date <= $day
order by kept_at, plan

-- output: work_island, the work that touched stretches hang together with
-- grain:  one row a person and island
-- time:   from_us to to_us, microseconds UTC
-- Islands of all logged time, kept or not, old or new, lie a rest apart; a touched stretch counts as logged whole.
-- Nothing within one bears on another: no overlap, no spell, no share of a slice; only the
-- rest between them and the numbers of later spells. What begins within the length of a rest hangs together, so it
-- is gathered first. Buckets of other files alone where a file is new: what came lies within the touched stretches.
create or replace temp table work_island as
with logged as (
    select person, start_us as from_us, end_us as to_us, false as touched from work_near_bout
    union all
    select person, first_us, last_us, false from work_near_part where {others}
    union all
    select person, from_us, to_us, true from work_touched
),
gathered as (
    select l.person, min(l.from_us) as from_us, max(l.to_us) as to_us, bool_or(l.touched) as touched
    from logged l cross join work_setting s
    group by l.person, l.from_us // s.rest_us
),
opened as (
    select
        g.*,
        from_us - max(to_us) over (
            partition by person order by from_us rows between unbounded preceding and 1 preceding
        ) < s.rest_us as goes_on
    from gathered g cross join work_setting s
),
numbered as (
    select
        *,
        count(*) filter (where goes_on is not true) over (
            partition by person order by from_us rows unbounded preceding
        ) as island
    from opened
)
select person, min(from_us) as from_us, max(to_us) as to_us
from numbered
group by person, island
having bool_or(touched)

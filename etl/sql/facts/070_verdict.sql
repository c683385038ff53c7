-- output: work_verdict, what becomes of bouts that overlap another of the same person
-- grain:  one row a bout that hangs together with an earlier or later one
-- time:   kept_from_us to end_us, microseconds UTC
-- Taken in order, each bout is held against the end of those kept so far: a start up to clip_us too early
-- moves to that end; a larger overlap, or one with nothing left, leaves the later bout out.
create or replace temp table work_verdict as
with recursive knotted as materialized (
    select
        person, knot, place, start_us, end_us,
        row_number() over (partition by person, knot order by place) as turn
    from work_log
    qualify count(*) over (partition by person, knot) > 1
),
walk as (
    select
        person, knot, place, turn, start_us, end_us, start_us as kept_from_us, end_us as reached_us,
        true as kept, cast(0 as bigint) as clipped_us
    from knotted where turn = 1
    union all
    select
        n.person, n.knot, n.place, n.turn, n.start_us, n.end_us,
        greatest(n.start_us, w.reached_us),
        case
            when n.start_us >= w.reached_us
                or (n.end_us > w.reached_us and w.reached_us - n.start_us <= s.clip_us) then n.end_us
            else w.reached_us
        end,
        n.start_us >= w.reached_us or (n.end_us > w.reached_us and w.reached_us - n.start_us <= s.clip_us),
        greatest(least(n.end_us, w.reached_us) - n.start_us, 0)
    from walk w
    join knotted n on n.person = w.person and n.knot = w.knot and n.turn = w.turn + 1
    cross join facts.setting s
)
select person, place, start_us, end_us, kept_from_us, kept, clipped_us from walk

-- output: work_piece, the work of a bout within one local day
-- grain:  one row a bout and local day
-- time:   start_us to end_us, microseconds UTC; local_date in the time zone of the bout
-- Strokes, tips and force-time of a bout over midnight are shared by time, each piece taking the difference of
-- two floors, so that the pieces add up exactly. beyond_guide_us is work later than guide_us into the spell.
-- force_time_mn_ms = strokes x (plunger + blow-out) x press time + tips x ejection x eject time.
create or replace temp table work_piece as
with priced as (
    select
        b.*, i.peak_force_mn, b.spell_from_us + s.guide_us as guide_from_us,
        case when b.strokes = 0 then 0 else b.strokes * i.stroke_mn_ms end
        + case when b.tips = 0 then 0 else b.tips * i.tip_mn_ms end as bout_mn_ms,
        -- Wide integers, or strokes times microseconds could overflow.
        cast(greatest(b.end_us - b.start_us, 1) as hugeint) as length_us
    from work_bout_day b
    left join work_instrument i on i.instrument = b.instrument
    cross join facts.setting s
),
share as (
    select
        *, piece_to_us = end_us as is_last, piece_from_us = start_us as is_first,
        cast(piece_from_us - start_us as hugeint) as before_us,
        cast(piece_to_us - start_us as hugeint) as through_us
    from priced
)
select
    b.person, b.local_date, t.team, b.task, b.instrument, b.station, b.origin,
    b.piece_from_us as start_us, b.piece_to_us as end_us,
    cast(case
        when is_first and is_last then strokes
        else strokes * through_us // length_us - strokes * before_us // length_us
    end as integer) as strokes,
    cast(case
        when is_first and is_last then tips
        else tips * through_us // length_us - tips * before_us // length_us
    end as integer) as tips,
    b.spell,
    greatest(piece_to_us - greatest(piece_from_us, guide_from_us), 0) as beyond_guide_us,
    cast(case
        when is_first and is_last then bout_mn_ms
        else bout_mn_ms * through_us // length_us - bout_mn_ms * before_us // length_us
    end as bigint) as force_time_mn_ms,
    b.peak_force_mn
from share b
left join work_team_day t on t.person = b.person and t.local_date = b.local_date

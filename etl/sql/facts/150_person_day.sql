-- output: work_person_day, a person's pipetting on one local day
-- grain:  one row a person and local day with any logged work
-- time:   local_date, in the time zone of the bouts; durations in microseconds
-- longest_spell_us is the longest spell that touches the day, measured whole. Micro rests run from rest_us to
-- long_rest_us, both included; a long rest counts where work follows the same day. Force figures are null as
-- soon as one bout's are unknown; force_known_us is the time whose force-time is known.
create or replace temp table work_person_day as
with work as (
    select
        b.person, b.local_date, min(b.team) as team,
        sum(b.end_us - b.start_us)::bigint as pipetting_us,
        sum(b.strokes)::bigint as strokes,
        max(p.end_us - p.start_us) as longest_spell_us,
        sum(b.beyond_guide_us)::bigint as beyond_guide_us,
        case when count(*) = count(force_time_mn_ms) then sum(force_time_mn_ms)::bigint end
            as force_time_mn_ms,
        coalesce(sum(b.end_us - b.start_us) filter (where force_time_mn_ms is not null), 0)::bigint
            as force_known_us,
        case when count(*) = count(peak_force_mn) then max(peak_force_mn) end as peak_force_mn
    from work_piece b join work_spell p on p.person = b.person and p.spell = b.spell
    anti join work_event_person e on e.person = b.person
    group by b.person, b.local_date
),
rest as (
    select
        r.person, r.local_date,
        count(*) filter (where r.rest_us <= s.long_rest_us) as rests_micro,
        count(*) filter (where r.rest_us > s.long_rest_us and r.same_day) as rests_long
    from work_rest r cross join facts.setting s
    group by r.person, r.local_date
)
select
    w.person, w.local_date, w.team, w.pipetting_us, w.strokes, w.longest_spell_us, w.beyond_guide_us,
    cast(coalesce(r.rests_micro, 0) as integer) as rests_micro,
    cast(coalesce(r.rests_long, 0) as integer) as rests_long,
    w.force_time_mn_ms, w.force_known_us, w.peak_force_mn
from work w left join rest r on r.person = w.person and r.local_date = w.local_date
order by w.person, w.local_date

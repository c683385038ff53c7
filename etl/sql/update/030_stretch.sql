-- output: stretches of work that stand in the facts, of some persons, in a look around {first_us} to {last_us}
-- grain:  one row a spell or left-out bout in the look; one a person for all spells before it, one for all after it
-- time:   from_us to_us, microseconds UTC
-- no counts the persons asked for from 0; spell is the number of the spell, of the last one where several are in a
-- row, 0 for a bout that was left out or shortened. All logged time lies in spells and these bouts.
with asked as (
    select unnest($persons::varchar[]) as person, unnest(range(len($persons::varchar[]))) as no
)
select
    a.no, min(p.start_us) as from_us, max(p.end_us) as to_us, max(p.spell) as spell
from facts.spell p join asked a on a.person = p.person
group by a.no, case when p.end_us < {first_us} then 0 when p.start_us > {last_us} then -1 else p.spell end
union all
select a.no, o.start_us, o.end_us, 0
from facts.overlap o join asked a on a.person = o.person
where o.end_us >= {first_us} and o.start_us <= {last_us}

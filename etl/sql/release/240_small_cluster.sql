-- output: clusters with fewer people than $floor
-- grain:  one row a cluster
-- time:   $month, the DATE of its first day; on the roster on any day of it
select cluster, count(distinct person)::integer as people
from facts.roster
where month = $month and cluster is not null
group by cluster
having count(distinct person) < $floor
order by cluster

-- output: rows of files that differ between what the facts rest on and what the files hold now
-- grain:  one row a row that came, went or changed, with its balance; to stand in a FROM
-- time:   as in the table
-- Equal rows cancel. {files} selects the files in {before}; {now} holds theirs alone.
(
    select * exclude (side), sum(side) as balance
    from (
        select *, 1 as side from {now}
        union all
        select *, -1 from {before} where {files}
    )
    group by all
    having sum(side) <> 0
)

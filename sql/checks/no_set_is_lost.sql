-- severity: stop
-- meaning: Every accepted set is in the models: the days of the calendar cover the logs.
-- reads: stg_set, logged_set
select
    logged_rows.row_total as n_logged,
    staged_rows.row_total as n_staged
from (
    select count(*) as row_total
    from logged_set
) as logged_rows
cross join (
    select count(*) as row_total
    from stg_set
) as staged_rows
where logged_rows.row_total <> staged_rows.row_total

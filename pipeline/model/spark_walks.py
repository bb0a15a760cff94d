"""A walk in order, written as a recursive step in DuckDB, as a fold over sorted lists in Spark.

Matching takes the best pair first, then the best of what is left: a walk along numbered rows that carries what
was taken. In DuckDB this is a recursive step, cheap within one machine. In Spark each of its rounds would be a
join of everything with everything else, and limits end it. Its own way is a list a group, folded:

    taking as (select … from candidate where place = 1
               union all
               select … from taking inner join candidate
                   on taking.k = candidate.k and taking.place + 1 = candidate.place)

becomes, in one pass over the groups of k,

    aggregate(rest of the group's rows by place, [first row's columns], (walked, one) -> walked + [columns])

where columns of `taking` are those of the last element of `walked`, and columns of `candidate` those of `one`.
"""

from __future__ import annotations

from collections.abc import Callable

import sqlglot
from sqlglot import exp


def without_recursion(tree: exp.Expr) -> exp.Expr:
    """`tree` with its recursive steps as folds; ValueError for one that is no walk in order."""
    steps = tree.args.get("with_")
    if steps is None or not steps.args.get("recursive"):
        return tree
    for step in steps.expressions:
        if any(table.name == step.alias for table in step.this.find_all(exp.Table)):
            step.set("this", sqlglot.parse_one(_fold(step), read="spark"))
    steps.set("recursive", False)
    return tree


def _fold(step: exp.CTE) -> str:
    name, union = step.alias, step.this
    if not isinstance(union, exp.Union) or union.args.get("distinct"):
        raise ValueError(f"{name}: a recursive step is a first row 'union all' the next")
    first, following = union.left, union.right
    source, order = _start(name, first)
    keys = _keys(name, following, source, order)
    firsts = {one.alias_or_name: one.unalias() for one in first.expressions}
    nexts = {one.alias_or_name: one.unalias() for one in following.expressions}
    if list(firsts) != list(nexts) or not {*keys, order} <= set(firsts):
        raise ValueError(f"{name}: both parts name the same columns, the group's and its order among them")
    fields = [field for field in firsts if field not in keys]
    carried = _columns_of(source, [*firsts.values(), *nexts.values()], name) - {*keys, order}
    row = ", ".join(f"'{column}', `{column}`" for column in [order, *sorted(carried)])

    def at_first(column: exp.Column) -> str:
        return f"`{column.name}`" if column.name in keys else f"steps[0].`{column.name}`"

    def at_next(column: exp.Column) -> str:
        if column.name in keys:
            return f"`{column.name}`"
        place = "one" if column.table == source else "element_at(walked, -1)"
        return f"{place}.`{column.name}`"

    begin = ", ".join(f"'{field}', {_with_columns(firsts[field], at_first)}" for field in fields)
    go_on = ", ".join(f"'{field}', {_with_columns(nexts[field], at_next)}" for field in fields)
    group = ", ".join(f"`{key}`" for key in keys)
    shown = ", ".join(f"`{one}`" if one in keys else f"walked.`{one}`" for one in firsts)
    return (
        f"select {shown} from (select {group}, explode(aggregate(slice(steps, 2, size(steps)),"  # noqa: S608
        f" array(named_struct({begin})),"
        f" (walked, one) -> concat(walked, array(named_struct({go_on}))))) as walked"
        f" from (select {group}, array_sort(collect_list(named_struct({row}))) as steps"
        f" from {source} group by {group}))"
    )


def _start(name: str, first: exp.Expr) -> tuple[str, str]:
    """The rows that are walked, and the column that numbers them."""
    where = first.args.get("where")
    condition = where.this if where else None
    source = first.args["from_"].this.name
    if isinstance(condition, exp.EQ) and condition.expression.name == "1" and not first.args.get("joins"):
        return source, condition.this.name
    raise ValueError(f"{name}: a walk begins with the row numbered 1 of one table")


def _keys(name: str, following: exp.Expr, source: str, order: str) -> list[str]:
    """The columns of a group, from the condition that joins the next row."""
    joins = following.args.get("joins") or []
    if len(joins) == 1 and joins[0].this.name == source and not following.args.get("where"):
        keys, has_next = [], False
        for part in joins[0].args["on"].flatten():
            left, right = part.this, part.expression
            if isinstance(part, exp.EQ) and isinstance(left, exp.Column) and left.name == right.name:
                keys.append(left.name)
            elif isinstance(part, exp.EQ) and left.sql() == f"{name}.{order} + 1" and right.name == order:
                has_next = True
            else:
                keys = []
                break
        if keys and has_next:
            return keys
    raise ValueError(f"{name}: the next row is joined by its group and by the number after the last")


def _columns_of(source: str, expressions: list[exp.Expr], name: str) -> set[str]:
    return {
        column.name
        for one in expressions
        for column in one.find_all(exp.Column)
        if column.table in ("", source) and column.table != name
    }


def _with_columns(one: exp.Expr, written: Callable[[exp.Column], str]) -> str:
    def mended(node: exp.Expr) -> exp.Expr:
        if isinstance(node, exp.Column):
            return sqlglot.parse_one(written(node), read="spark")
        return node

    return one.copy().transform(mended).sql(dialect="spark")

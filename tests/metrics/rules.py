"""The small part of PromQL that our alert rules are written in, over two scrapes.

Parsed by promql-parser; what that part means is prometheus.io/docs/prometheus/latest/querying
(operators, functions), from memory. Anything else raises, so that no rule is left untried.
"""

from __future__ import annotations

import operator
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import promql_parser as promql

from tests.metrics.exposed import Exposed

Labels = frozenset[tuple[str, str]]
Vector = dict[Labels, float]
_COMPARE: dict[str, Callable[[float, float], bool]] = {
    ">": operator.gt,
    "<": operator.lt,
    "==": operator.eq,
}


@dataclass
class Scrape:
    """Every sample of a scrape by its name, with the labels that a scraper adds."""

    samples: dict[str, Vector] = field(default_factory=dict)

    @classmethod
    def of(cls, exposed: Exposed, **added: str) -> Scrape:
        """What was exposed at a target that is up."""
        found = cls({"up": {frozenset(added.items()): 1.0}})
        for family in exposed.families.values():
            for sample in family.samples:
                labels = frozenset({**sample.labels, **added}.items())
                found.samples.setdefault(sample.name, {})[labels] = sample.value
        return found

    def but(self, name: str, value: float, **where: str) -> Scrape:
        """The same with the matching samples of one name set; there has to be one."""
        changed = {
            labels: value if frozenset(where.items()) <= labels else old
            for labels, old in self.samples[name].items()
        }
        assert changed != self.samples[name], f"nothing of {name} was changed"
        return Scrape({**self.samples, name: changed})


@dataclass(frozen=True)
class Evaluation:
    """An expression at ``now``; ``before`` was scraped as long ago as any range looks back."""

    before: Scrape
    now: Scrape

    def of(self, text: str) -> Vector:
        """The series that an expression gives; an alert fires for each."""
        found = self._of(promql.parse(text))
        assert isinstance(found, dict)
        return found

    def _of(self, expr: promql.Expr) -> Vector | float:
        if isinstance(expr, promql.NumberLiteral):
            return expr.val
        if isinstance(expr, promql.ParenExpr):
            return self._of(expr.expr)
        if isinstance(expr, promql.VectorSelector):
            return _selected(expr, self.now)
        if isinstance(expr, promql.Call):
            return self._called(expr)
        if isinstance(expr, promql.BinaryExpr):
            return self._joined(expr)
        raise ValueError(f"the evaluator of these tests does not know {expr}")

    def _called(self, call: promql.Call) -> Vector:
        (argument,) = call.args
        if call.func.name == "increase" and isinstance(argument, promql.MatrixSelector):
            now, before = (_selected(argument.vector_selector, s) for s in (self.now, self.before))
            return {_nameless(n): v - before[n] for n, v in now.items() if n in before}
        if call.func.name == "abs":
            found = self._of(argument)
            assert isinstance(found, dict)
            return {_nameless(labels): abs(value) for labels, value in found.items()}
        raise ValueError(f"the evaluator of these tests does not know {call}")

    def _joined(self, expr: promql.BinaryExpr) -> Vector:
        left, right, sign = self._of(expr.lhs), self._of(expr.rhs), str(expr.op)
        assert isinstance(left, dict)
        if isinstance(right, float):
            return {labels: v for labels, v in left.items() if _COMPARE[sign](v, right)}
        key = _key(expr.modifier)
        others = {key(labels): value for labels, value in right.items()}
        matched = {labels: v for labels, v in left.items() if key(labels) in others}
        if sign == "and":
            return matched
        if sign == "-":
            return {key(labels): v - others[key(labels)] for labels, v in matched.items()}
        raise ValueError(f"the evaluator of these tests does not know {sign}")


def selectors(text: str) -> Iterator[promql.VectorSelector]:
    """Every selector of an expression."""
    found: list[promql.VectorSelector] = []

    def visit(expr: promql.Expr) -> bool:
        if isinstance(expr, promql.MatrixSelector):
            expr = expr.vector_selector
        if isinstance(expr, promql.VectorSelector) and expr not in found:
            found.append(expr)
        return True

    promql.walk(promql.parse(text), visit)
    return iter(found)


def _selected(selector: promql.VectorSelector, scrape: Scrape) -> Vector:
    assert selector.name is not None
    series = scrape.samples.get(selector.name, {}).items()
    return {
        labels: value
        for labels, value in series
        if all(_matches(matcher, dict(labels)) for matcher in selector.matchers.matchers)
    }


def _matches(matcher: promql.Matcher, labels: dict[str, str]) -> bool:
    value = labels.get(matcher.name, "")
    if matcher.op == promql.MatchOp.Equal:
        return value == matcher.value
    if matcher.op == promql.MatchOp.NotEqual:
        return value != matcher.value
    if matcher.op == promql.MatchOp.Re:
        return re.fullmatch(matcher.value, value) is not None
    raise ValueError(f"the evaluator of these tests does not know {matcher}")


def _key(modifier: promql.BinModifier | None) -> Callable[[Labels], Labels]:
    """By which labels the two sides of an operator are matched."""
    matching = modifier.matching if modifier else None
    if matching is None:
        return lambda labels: labels
    named, is_on = set(matching.labels), matching.type == promql.LabelModifierType.Include
    return lambda labels: frozenset(one for one in labels if (one[0] in named) == is_on)


def _nameless(labels: Labels) -> Labels:
    """Samples here never carry their name as a label."""
    return labels

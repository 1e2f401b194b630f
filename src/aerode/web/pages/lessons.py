"""Class: a lesson that fits the minutes, codes instead of names, a worksheet, slips for the teacher, groups merged."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse

from aerode.errors import AerodeError
from aerode.usecases.group_codes import CODES
from aerode.usecases.lesson import Goal, LessonQuestion, plan_lesson
from aerode.usecases.lesson_groups import GroupLine, groups_of
from aerode.usecases.lesson_rows import worksheet_rows
from aerode.web.bench import OpenBench
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.lesson import LessonPlan

__all__ = ["router"]

router = APIRouter()
_USUAL_MINUTES = (60, 90, 120, 180, 240)
"""Lengths of a lesson to begin from where nobody named one."""
_NUMBERS = {
    "minutes": "a whole number of minutes",
    "groups": "a whole number of groups",
    "tools": "a whole number",
}


def _asked(request: Request) -> tuple[LessonQuestion, dict[str, str], dict[str, tuple[str, str]]]:
    usual = LessonQuestion()
    sent = request.query_params
    typed = {
        "minutes": sent.get("minutes", str(usual.minutes)).strip(),
        "groups": sent.get("groups", str(usual.groups)).strip(),
        "goal": sent.get("goal", usual.goal.name),
        "tools": sent.get("tools", "").strip(),
    }
    faults: dict[str, tuple[str, str]] = {}
    numbers: dict[str, int] = {}
    for name, allowed in _NUMBERS.items():
        text = typed[name]
        if text.isascii() and text.isdigit() and len(text) < 4:
            numbers[name] = int(text)
        else:
            faults[name] = (f"{text!r} is no count", allowed)
    if typed["tools"] == "":
        numbers["tools"] = 0
        faults.pop("tools", None)
    goal = Goal[typed["goal"]] if typed["goal"] in Goal.__members__ else usual.goal
    return LessonQuestion(goal=goal, **numbers), typed, faults


def _planned(request: Request, bench: BenchFile, question: LessonQuestion) -> LessonPlan:
    key = ("lesson", question.minutes, question.groups, question.goal, question.tools)
    return request.app.state.remembered.of(bench, key, lambda: plan_lesson(bench, question))


def _that_fits(request: Request, bench: BenchFile, question: LessonQuestion) -> LessonPlan | None:
    """The shortest usual lesson that fits, where nobody named the minutes; None where none does."""
    tried = (_planned(request, bench, replace(question, minutes=n)) for n in _USUAL_MINUTES)
    return next((plan for plan in tried if plan.fits), None)


@router.get("/class")
def lesson(request: Request, bench: OpenBench) -> HTMLResponse:
    """The lesson, and how the groups get on."""
    question, typed, faults = _asked(request)
    plan: LessonPlan | None = None
    if not faults:
        try:
            plan = _planned(request, bench, question)
            if not plan.fits and "minutes" not in request.query_params:
                plan = _that_fits(request, bench, question) or plan
                typed["minutes"] = str(plan.question.minutes)
        except AerodeError as refusal:
            faults[refusal.where] = (refusal.what, refusal.allowed)
    groups: tuple[GroupLine, ...] = ()
    if plan:
        codes = plan.codes
        groups = request.app.state.remembered.of(
            bench, ("groups", *codes), lambda: groups_of(bench, codes)
        )
    ready = [name for group in groups if group.can_be_compared for name in group.electrodes]
    compare = f"/compare?{urlencode([('electrode', name) for name in ready])}"
    return page(
        request, "lessons/lesson.html", status=422 if faults else 200, stage="more", plan=plan,
        typed=typed, faults=faults, goals=[(goal.name, goal.value) for goal in Goal],
        groups=groups, started=[group for group in groups if group.runs],
        compare=compare if len(ready) > 1 else "",
        sheet=address("class", "worksheet", **typed), most=len(CODES),
        labels=f"/prints/labels?{urlencode([('electrode', one) for one in _pieces(plan, groups)])}",
        card=address("prints", "resistors", electrode=next(iter(_pieces(plan, groups)), "")),
    )  # fmt: skip


def _pieces(plan: LessonPlan | None, groups: tuple[GroupLine, ...]) -> list[str]:
    """The electrodes of the lesson: those that groups have, else those they are to measure."""
    own = [name for group in groups for name in group.electrodes]
    return own or (list(plan.electrodes[: len(plan.codes)]) if plan else [])


@router.get("/class/worksheet")
def worksheet(request: Request, bench: OpenBench) -> HTMLResponse:
    """One sheet of paper for each group, with its code, its cautions, its steps and its table."""
    question, typed, faults = _asked(request)
    if faults:
        question = LessonQuestion()
    plan = _planned(request, bench, question)
    return page(
        request,
        "lessons/worksheet.html",
        stage="more",
        plan=plan,
        rows=worksheet_rows(plan),
        back=address("class", **typed),
    )

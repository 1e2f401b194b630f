"""Invented benches with a hidden truth: for the demo and for studies of coverage and regret.

The analysis rooms cannot import this one, and this one shares no formula with them: the truth is
drawn here by its own plain bisection. Everything in here is invented and is never a check value.
"""

"""Measurements of the channel on this computer, compared with published limits.

`checks` lists the checks in order; each of the other modules measures one stage. A check generates
signals, sends them through the code that the drills use, and analyses the result by independent
means (SciPy's transforms and estimators, closed forms). The figures of the standards stand here as
published. `figures` defines the result; `signals` has the test signals.
"""

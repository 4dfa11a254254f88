"""Measurements of the channel on this computer, compared with published limits.

`checks` lists the checks in order; each of the other modules measures one stage. A check generates
signals, sends them through the same code as the drills, and analyses the result by independent
means (SciPy's transforms and estimators, closed forms). The limits are the published figures of the
standards. `figures` defines the result; `signals` has the test signals.
"""

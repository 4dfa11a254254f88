"""The hunt: an hour on a crowded band, with both logs checked at the end.

The trainee turns one dial over one to three bands, waits for calls, calls, copies and logs. The far
operators, their callers and their ears are those of `drill.contact`. The package knows no screen
and no wall clock: everything follows from the set-up and the trainee's acts with their ear times.

Read in this order: `clock` (the two times), `values` and `bands` (the parameters), `setup`, `band`
(the stations that are composed), `path_fading`, `hunt_air` and `held_frequency` (one station with
its callers), `acts`, `pad`, `live` (the hunt as a screen drives it), `visit`, `hunter` and
`expectation` (a scripted hunter).
"""

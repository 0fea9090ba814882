"""Whole lessons: every maneuver of the course, flown by both pilots, with what was truly flown.

    goals --procedures--> aims --a hand's control laws--> JSBSim --measure--> truth

A procedure is what any instructor would say of a maneuver: close the throttle, hold altitude, raise the
nose, at the break push, then power. It says what to aim for next (`Aim`) from what is seen (`Seen`). How an
aim is flown is each hand's own: the two share procedures and the geometry of circles, lines and pylons, no
control law.

    python -m tests.flights.make --whole --seeds 0:10 --out DIR --recorders avionics,gps

writes lessons with their recordings and ``truth.json`` (maneuvers, edges, borders, ground references, values)
and ``truth.parquet`` (the engine's state, 20 rows a second). ``measure`` says what each edge means.
"""

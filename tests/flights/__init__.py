"""Truth flights: lessons flown in an independent 6-DoF simulation, for checking chalkwing from outside.

Nothing here is imported by the package, and nothing here imports the package's estimator, finder or judge:
the equations of motion are JSBSim's, the pilots are two unrelated controllers, the recorders noise models.
"""

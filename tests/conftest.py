"""Every test process keeps its linear algebra to one thread, as the programs do, and no example
of a property fails for being slow: speed is for the benchmarks."""

from hypothesis import settings

from riskmodel.threads import one_thread

one_thread()
settings.register_profile("patient", deadline=None)
settings.load_profile("patient")

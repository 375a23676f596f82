"""Every test process keeps its linear algebra to one thread, as the programs do."""

from riskmodel.threads import one_thread

one_thread()

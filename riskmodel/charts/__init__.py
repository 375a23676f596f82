"""One chart code for page, report and terminal; a table of the same figures beside each."""

from riskmodel.charts import life_tables, oil_tables, tables
from riskmodel.charts.ahead import ahead
from riskmodel.charts.engines import engines
from riskmodel.charts.life_curve import life_curve
from riskmodel.charts.life_effects import effects
from riskmodel.charts.life_paper import probability_plot
from riskmodel.charts.long_run import long_run
from riskmodel.charts.oil_factor import FactorCurve, factor_curve, oil_factor
from riskmodel.charts.oil_rates import oil_rates
from riskmodel.charts.plans import plan_chances, plan_costs, shown_plans
from riskmodel.charts.trade_off import trade_off

__all__ = [
    "FactorCurve",
    "ahead",
    "effects",
    "engines",
    "factor_curve",
    "life_curve",
    "life_tables",
    "long_run",
    "oil_factor",
    "oil_rates",
    "oil_tables",
    "plan_chances",
    "plan_costs",
    "probability_plot",
    "shown_plans",
    "tables",
    "trade_off",
]

"""One chart code for page, report and terminal; a table of the same figures beside each."""

from riskmodel.charts import tables
from riskmodel.charts.ahead import ahead
from riskmodel.charts.engines import engines
from riskmodel.charts.plans import plan_chances, plan_costs, shown_plans
from riskmodel.charts.trade_off import trade_off

__all__ = ["ahead", "engines", "plan_chances", "plan_costs", "shown_plans", "tables", "trade_off"]

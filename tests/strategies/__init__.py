"""Random gardens and random weather: site files as dictionaries, every option used now and then, all of them valid.

Where a quantity is compared with a threshold (rain, heat, the level of a float valve or of a transfer, the depletion
that opens a valve, the coefficient that the climate moves) the numbers are chosen so that a tie is either exact in
binary or practically never: halves for what is summed and compared, odd decimals for what is multiplied or may cancel
out. Two programs that add in another order then still decide alike.
"""

from strategies.gardens import cases, one_tank_timer_cases, runs, sites
from strategies.named import named_runs
from strategies.weather import weathers
from strategies.written import lean, to_toml

__all__ = ["cases", "lean", "named_runs", "one_tank_timer_cases", "runs", "sites", "to_toml", "weathers"]

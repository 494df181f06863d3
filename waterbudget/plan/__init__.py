"""What could be done at best: the plan of somebody who knew the weather, and what a litre is worth."""

"""Why a dose is what it is: the evidence behind a posterior, weighed and grouped."""

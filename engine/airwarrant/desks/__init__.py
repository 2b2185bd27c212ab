"""Desks: what people do around a job: survey, example cases, what a policy does not yet cover."""

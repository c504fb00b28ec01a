"""The loads that a building asks of a truss: snow and roof live load by the code, storage in attics, arrangements."""

"""The sans-I/O core of one cook: inputs and `now` in, forecasts and calls out."""

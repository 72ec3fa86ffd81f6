"""The card's cooling, identified while it runs: model, filter, forecast, verdict."""

"""What the records teach: parameters fitted to them, and forecasts scored by what came true."""

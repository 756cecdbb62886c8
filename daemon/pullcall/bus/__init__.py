"""The way to an MQTT broker: what a site publishes, and the shapes of it."""

"""What stands between the network and the routes, each an ASGI middleware that knows one danger."""

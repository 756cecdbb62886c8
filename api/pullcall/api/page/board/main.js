// Wires entry -> link -> sites -> list.

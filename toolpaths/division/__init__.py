"""A panel larger than the machine: how it is divided into setups, and the pins that carry its position over."""

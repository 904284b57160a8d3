"""How well messages are read: training, measurement and the floors of the figures."""

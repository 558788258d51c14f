"""What happens at the bench: where the marks go, how touches are fitted, how good register can be at all."""

"""How fast meat dries, and how well that is learned from weighings, against published experiments."""

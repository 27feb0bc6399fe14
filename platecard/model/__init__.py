"""The nouns of a kitchen as frozen values: dishes, plates, recipes, products, and how food is handled."""

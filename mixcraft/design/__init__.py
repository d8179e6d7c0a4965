"""The design engine: a recipe from a brief, a recipe mended, a recipe fitted to another bed."""

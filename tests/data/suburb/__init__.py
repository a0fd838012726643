"""A big invented suburb for the speed tests: trees of sewer routes, each with its streets, lots and services."""

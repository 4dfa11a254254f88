"""Tools for maintainers: they measure the product and write the tables in tests/measured."""

"""The page: the same drills by keyboard and ear in a browser, served by this machine to itself."""

"""One object for other people's software: everything that the command line does, from plain data to values, words and pages."""

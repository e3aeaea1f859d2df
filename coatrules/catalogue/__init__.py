"""Every sentence that a person reads: a code with parameters, put into words by a catalogue that can be replaced."""

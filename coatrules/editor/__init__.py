"""A language server for profiles: the findings of ``check`` while a mentor types, names to choose from, where a figure comes from.

What is known of a text lies in modules without a protocol; ``server`` alone speaks it (extra ``editor``).
"""

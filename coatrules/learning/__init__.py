"""What a dog's record teaches, by two-level shrinkage: the pace of its coat and the speed of the hands. Pure numbers."""

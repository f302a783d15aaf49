"""The Season page of one athlete and the Group page of all."""

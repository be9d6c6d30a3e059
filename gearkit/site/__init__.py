"""The course without a server and without an install: pages made from the notebooks, for `gearkit site`."""

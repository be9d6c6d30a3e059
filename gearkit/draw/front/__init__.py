"""One set seen from the front, with true tooth counts. Outside this folder ask `front_view` and `front_geometry`."""

"""Items that ask to judge, to order, to give a reason, to go on or to choose a picture, as families over problems and layouts.

`offered.items_of(layout, told)` says what can be asked about any layout; the lessons' own items stand in `lessons`.
"""

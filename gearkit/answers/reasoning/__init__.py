"""Items that ask to judge, to order, to give a reason, to go on or to choose a picture; those about any layout are a family."""

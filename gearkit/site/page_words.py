"""What a page says in place of a notebook's cells that speak of running cells, and the words of a sheet that its page looks for."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from gearkit.words.say import later

# In a task "One of `forward`, `reverse`." lists the choices, which a page makes into a list to choose from.
ONE_OF, SEVERAL_OF = later("one of {options}"), later("one or more of {options}, with commas between")
# What the head of a sheet says of running its cells; a page says something else above.
RUNNING = later(
    "Run the next cell first. Write each answer between the quotation marks of its cell and run the cell: it says how your answer "
    "is read, not whether it is right."
)
# By the cell's id; "" leaves a cell out.
INSTEAD: Mapping[str, str] = MappingProxyType(
    {
        "l00-title": later(
            """# Start here: how a lesson works

**5 minutes. Needs nothing.**

After these five minutes you can

- answer an exercise in a form,
- make a prediction and compare it with the result,
- find your work again tomorrow."""
        ),
        "l00-run": "",
        # A page has one language; its learner gets the address of the one that they read.
        "l00-language-words": "",
        "l00-language": "",
        "l00-python": later(
            "You need no programming. The working in Python is folded into single lines; open one if you want to see it."
        ),
        "l00-record": later(
            """## Your record

Predictions, answers, hints and mistakes are kept in this browser; nobody else sees them unless you hand them over. On
another machine, or in another browser, you begin again: *My record* at the top saves them to the file `my_record.json` and
brings them in again. The last part of every lesson tells you what is done, which mistake you made more than once, and what to
do next."""
        ),
        "l00-home": later(
            """## Your course

*All lessons* at the top is the list of your whole course, with what you have done in each. From your second day on, each lesson
opens with three questions from earlier lessons, with new numbers."""
        ),
        "l00-next": later(
            """## When something is wrong

Load the page again; your record is safe. Exercises need Python, which your browser loads by itself and then keeps. Now open
[lesson 1](../01_gear_pairs/gear_pairs.ipynb), or lesson 2 if you know gear pairs well. Words you do not know are in the
[glossary](../glossary/glossary.ipynb)."""
        ),
    }
)

"""What the starter's settings file says: what the workbook cannot."""

from __future__ import annotations

import json
import re


def settings_text(queue: str = "") -> str:
    """The settings file, with a printer of the bench where its queue is known.

    Args:
        queue: as the system's spooler names it
    """
    if not queue:
        return SETTINGS
    word = json.dumps(queue)  # text in TOML as it is in JSON, for what a name of a queue may hold
    name = word if re.search("[A-Za-z]", queue) and not re.search("[;,]", queue) else '"bench"'
    return SETTINGS.replace(
        _EXAMPLE, f"# The printer of the bench.\n[printers.{name}]\nqueue = {word}\n\n{_EXAMPLE}"
    )


_EXAMPLE = "# What the test page showed of a printer:"
SETTINGS = """\
# What the sheets Farm, Uses and Coolers of the workbook cannot say. Every line may be left out. A line that
# begins with # counts for nothing: take the # away where a key begins right after it, and put your own value.
# All keys of those sheets may stand here too, see: tagmaker help settings

#printer = "shed"                    # if tagmaker test-page came out crooked: see [printers.shed] below
#fonts = []                          # ["fonts/Some.ttf"]: for characters that the built-in font lacks

# What the test page showed of a printer: everything is moved right and down by so many millimetres,
# and stretched. unprintable is what it leaves white along the edges of a page. queue is its name in the
# system's spooler: the bench prints there.
#[printers.shed]
#queue = "shed_printer"
#offset_x = 0.5
#offset_y = -1.0
#scale_x = 1.003
#unprintable = 5

# A label sheet of your own, measured with a ruler; text such as "1 in" works too.
#[label_stocks."jar labels"]
#page = "letter"
#columns = 2
#rows = 4
#width = 90
#height = 60
#left = 15
#top = 19
#pitch_x = 96

# Figures of your own for a crop, or a crop that keeps as another one does.
#[crops."tulip double"]
#fresh_days = 8
#[crops.camassia]
#like = "stock"

# If a header of your sheet is not understood: the column, and your name for it.
#[columns]
#cut = "Into the basket"
#ignore = ["Bed", "Picker"]          # columns of your own that need no word
"""

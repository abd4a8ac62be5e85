"""What the starter's settings file says."""

from __future__ import annotations

SETTINGS = """\
# How this farm works. Every line may be left out. A line that begins with # counts for nothing:
# take the # away where a key begins right after it, and put your own value.

#farm = "Larkmarrow Yard"            # printed on the papers
#units = "F"                         # "F" or "C": for numbers without a unit, and on paper
#day_first = false                   # how 05/06/2027 reads: true is 5 June, false is May 6
#timezone = "Europe/Dublin"          # only if the computer stands in another one
#basis = "early"                     # "practice", "early", or "cautious": dates by the published figures
#link = "https://example.org/l/{lot}"  # what the codes on the tags open; {row} works too
#paper_size = "a4"                   # or "letter"
#label_stock = "a4-3x7"              # the labels in the printer; tagmaker label-stocks lists them
#printer = "shed"                    # if tagmaker test-page came out crooked: see [printers.shed] below
#crate_card = "half"                 # quarter, roll-102x152mm, half, twin or tent
#fonts = []                          # ["fonts/Some.ttf"]: for characters that the built-in font lacks

workday = ["08:00", "18:00"]         # first and last hour at the bench, in quarter hours
days_off = ["Sun"]                   # days on which nobody puts stems in water; they can still sell

# Where the stems stand for two hours between the cut and the cooler:
# one temperature, or twelve, January first.
#field_temperature = "60F"
#room_temperature = "68F"            # where stems are let open
#half_cooling = 4                    # hours in which a wrapped crate comes half way to the cooler

# What a blank cell of the sheet means on this farm.
[usual]
#stage = "tight"
#form = "single"
#per_bunch = 10
#use = "shop"

# Where the flowers go. vase_days is what you promise the buyer; days and leaves say when they go:
# weekdays, dates like "2027-05-08", or both.
[uses.shop]
vase_days = 4

[uses.stall]
vase_days = 4
days = ["Sat"]
leaves = "06:30"
#stems = 300                         # what it usually sells a selling day
#must = true                         # its orders are filled first

[uses.event]
vase_days = 2
#open = true                         # wanted open on arrival: time to open is planned in

# Your coolers; the first one is meant where the sheet does not say. A set point is not a
# measurement: dates are reckoned with 41F or warmer, unless the cooler is logged or trusted.
[coolers.walk-in]
set_point = "39F"
#trusted = true                      # checked against a good thermometer
#log = "logs/walk-in*.csv"           # its thermometer log
#probe = "shelf 2"                   # which probe of a log that holds several
#log_units = "F"                     # if the log does not say
#offset = "-0.5F"                    # added to every reading, from a check in ice water
#crates = 24                         # what it takes; left out: no limit is watched
#buckets = 16
#shared = true                       # crates and buckets take the same space
#soak = "outside"                    # stems put in water stand elsewhere

[coolers.fridge]
set_point = "41F"
crates = 3
buckets = 2

# What the test page showed of a printer: everything is moved right and down by so many millimetres,
# and stretched. unprintable is what it leaves white along the edges of a page.
#[printers.shed]
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

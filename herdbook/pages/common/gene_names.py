"""What the genes of the table of loci are called on a page, and what they show."""

from django.utils.translation import gettext_lazy as _

#: What an animal carries unseen, by gene.
CARRIED = {
    "extension": _("a red-series coat"),
    "chocolate": _("chocolate"),
    "albino": _("white"),
    "pink eye": _("pink eye"),
    "spotting": _("white patches"),
    "roan": _("roan"),
    "satin": _("satin"),
    "rex": _("rex"),
    "long coat": _("long coat"),
}

#: What a pup may look like, by gene and class.
BODY = {
    ("albino", "red, golden or buff"): _("red, golden or buff"),
    ("albino", "cream"): _("cream"),
    ("albino", "white"): _("white"),
    ("chocolate", "black"): _("black or agouti"),
    ("chocolate", "chocolate"): _("chocolate"),
    ("extension", "part red"): _("part dark, part red"),
}
POINTS = {
    ("chocolate", "black"): _("black"),
    ("chocolate", "chocolate"): _("chocolate"),
}
COAT = {
    ("pink eye", "pink"): _("pink-eyed"),
    ("spotting", "white patches"): _("white patches"),
    ("roan", "roan"): _("roan"),
    ("roan", "lethal white"): _("lethal white, born without eyes or teeth"),
    ("satin", "satin"): _("satin"),
    ("rex", "rex"): _("rex"),
    ("long coat", "long"): _("long coat"),
}

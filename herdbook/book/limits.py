"""The figures that the rules go by, each with its source. Days and grams.

A limit here never refuses: it decides when the book asks whether it is so. Those of matings and
shows are where a herd starts from: its breeder may set others (``models/limits.py``).
"""

# Gestation runs 59 to 72 days (researchanimaltraining.com, Guinea pig biology, 2021); a day is
# added at the late end, since a mating on the last evening is written as that day.
GESTATION_SHORTEST_DAYS = 59
GESTATION_LONGEST_DAYS = 73

# Gestation of 68 days was usual in 113 sows (Ibsen 1928, J Exp Zool 51:51).
GESTATION_USUAL_DAYS = 68

# Sows came to puberty at 33 to 134 days (Young 1939, as cited in a thesis review). A sow that
# took the boar at weaning is possible, younger is hard to believe.
SOW_CONCEIVES_FROM_DAYS = 33

# Boars are moved from their dam by three weeks for fear of matings, and used from three to four
# months (common practice; researchanimaltraining.com 2021). Before seven weeks the book asks.
BOAR_SIRES_FROM_DAYS = 49

# From this age a boar is offered as a sire: before, he is still with his dam (common practice, no
# source). Younger ones can be typed.
BOAR_OFFERED_FROM_DAYS = 21

# Birth weights of 42 to 150 g in one study of 98 g pups on average (abstract, long-haired cavies).
BIRTH_WEIGHT_LEAST_G = 42
BIRTH_WEIGHT_MOST_G = 150

# Litters of 1 to 6 were found in the same study; larger ones happen, and are worth a question.
LITTER_SIZE_MOST = 6

# Boars weigh 900 to 1200 g grown (researchanimaltraining.com 2021), 1421 g at the plateau of one
# logistic for males (Tapie et al.); beyond this the book asks (common practice, no source).
WEIGHT_MOST_G = 1800

# A sow in-pig is half as heavy again, and a growing cavy gains less than this a day; beyond both
# together a weight is asked about (common practice, no source).
WEIGHT_JUMP_MOST = 1.5
WEIGHT_GAIN_MOST_G = 10

# Points need three to five months to be full, two doses sooner (common practice, no source).
FULL_POINTS_FROM_DAYS = 28
OVERMARKED_FROM_DAYS = 21

# A sow's first litter should come before her pelvis stiffens, counted from conception. Sources
# disagree: 6 months (veterinary and university fact sheets), 7 (vetpedia.it), 7 to 8 (veterinary
# articles).
FIRST_CONCEPTION_LATEST_DAYS = 183

# Sows are first mated from 2 to 3 months and 350 to 450 g in meat stock (researchanimaltraining.com
# 2021); fact sheets for vets say not before 3 months. The later age and the heavier weight.
SOW_MATED_FROM_DAYS = 91
SOW_MATED_FROM_G = 450

# Nobody sets the weight lower than meat stock is first mated at (the same source).
SOW_MATED_FROM_LEAST_G = 350

# Boars are first used from 3 to 4 months and 600 to 700 g (researchanimaltraining.com 2021).
BOAR_MATED_FROM_DAYS = 91
BOAR_MATED_FROM_G = 600

# A sow rests this long after littering: pups are weaned at 14 to 21 days and she is to make up what
# she lost (common practice, no source).
SOW_RESTS_DAYS = 60

# The months in which a sow heavy in pig suffers most from heat, north of the equator (common
# practice, no source).
HOTTEST_MONTHS = (7, 8)

# A sow comes on heat every 15 to 17 days (researchanimaltraining.com 2021): a boar that stays this
# long misses no heat.
BOAR_STAYS_DAYS = 17

# Young boars leave their dam and sisters at this age or weight, whichever comes first, and
# daughters leave entire boars at this age (common practice, no source; a vet decides).
YOUNG_BOARS_LEAVE_DAM_DAYS = 21
YOUNG_BOARS_LEAVE_DAM_G = 250
DAUGHTERS_LEAVE_BOARS_DAYS = 28

# Inbreeding of a litter in per cent: under 6.25 is comfortable, 12.5 is bred on purpose, 25 is
# exceptional (from memory).
INBREEDING_COMFORTABLE = 6.25
INBREEDING_DELIBERATE = 12.5
INBREEDING_EXCEPTIONAL = 25

# The furthest that sources go, as given beside each of these above: at least, at most (None: no end
# is given). A breeder may set a limit beyond, and is told so; 8 months are 244 days, 2 months 61.
SOURCES_GO = {
    "first_conception_latest_days": (None, 244),
    "sow_mated_from_days": (61, None),
    "boar_mated_from_days": (91, None),
    "boar_mated_from_g": (600, None),
    "inbreeding_comfortable": (None, INBREEDING_COMFORTABLE),
    "inbreeding_deliberate": (None, INBREEDING_DELIBERATE),
    "inbreeding_exceptional": (None, INBREEDING_EXCEPTIONAL),
}

# From this chance on of a lethal white in each pup, or of a satin one, the book speaks up; less is
# nothing to hold a mating up for. For satin it is grave from more on, since where satin is about,
# nearly any two may carry it (common practice, no source).
LETHAL_WHITES_FROM = 0.01
SATIN_PUPS_FROM, SATIN_PUPS_GRAVE_FROM = 0.01, 0.05

# Losses of pups are counted to this age, as the study counts them that `genetics.matings` rests on
# (abstract on long-haired guinea pigs, litter size and birthweight).
LOSS_DAYS = 28

# Show classes by age: under 5 months, 5 to 8 months, adult (common practice, no source; other
# countries differ). Points take three to five months: a younger one has little to show.
SHOW_FROM_MONTHS = 3
SHOW_YOUNG_UNDER_MONTHS = 5
SHOW_ADULT_FROM_MONTHS = 8

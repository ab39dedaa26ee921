"""Small random herds as rows of a pedigree file, for what must hold of any of them."""

from hypothesis import strategies as st

weights = st.sampled_from(["1", "0.25", "3"])
likelihoods = st.sampled_from([("", "", ""), ("1", "0.5", "0.1"), ("0.01", "1", "2e5")])


@st.composite
def choices(draw, candidates):
    """A parent cell: empty, one of `candidates`, or several of them with weights or without."""
    if not candidates:
        return ""
    few = draw(st.lists(st.sampled_from(candidates), max_size=2, unique=True))
    if not draw(st.booleans()):
        return "|".join(few)
    return "|".join(f"{name}:{draw(weights)}" for name in few)


@st.composite
def herds(draw):
    """Up to seven litters of up to three pups, boars B0, B1 ... and sows S0, S1 ... by turns."""
    rows = []
    for litter in range(draw(st.integers(1, 7))):
        boars, sows = ([row["id"] for row in rows if row["id"][0] == kind] for kind in "BS")
        parents = {"sire": draw(choices(boars)), "dam": draw(choices(sows))}
        label = f"L{litter}" if draw(st.booleans()) else ""
        for _pup in range(draw(st.integers(1, 3))):
            likes = zip(("like0", "like1", "like2"), draw(likelihoods), strict=True)
            name = f"{'BS'[len(rows) % 2]}{len(rows)}"
            rows.append({"id": name, **parents, "litter": label, **dict(likes)})
    return rows


@st.composite
def shuffled_herds(draw):
    """A herd twice: as it is, and with its rows in another order."""
    rows = draw(herds())
    return rows, draw(st.permutations(rows))

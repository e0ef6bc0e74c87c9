"""Networks for property tests, always solvable: ideal branches never form a loop."""

import math

from hypothesis import strategies as st

from generator.model.network import Branch, Network

plain_ohms = st.floats(-2, 5).map(lambda exponent: 10.0**exponent)
"""A hundredth of an ohm to a hundred kilohms."""

low_ohms = st.one_of(plain_ohms, st.just(0.0))
"""A resistance, or none."""

emfs = st.one_of(st.just(0.0), st.floats(-24, 24).map(lambda emf_v: round(emf_v, 3)))


@st.composite
def grounded_networks(draw, tree_ohms=low_ohms):
    """Networks in which every node has a path to ground.

    A tree from ground may hold ideal branches; further links may be opens.
    """
    nodes = ["0", *(f"n{i}" for i in range(1, draw(st.integers(2, 7))))]
    tree = [
        (draw(st.sampled_from(nodes[:i])), node) for i, node in enumerate(nodes) if i
    ]
    pairs = st.tuples(st.sampled_from(nodes), st.sampled_from(nodes))
    links = draw(st.lists(pairs.filter(lambda pair: pair[0] != pair[1]), max_size=8))
    ohms = [draw(tree_ohms) for _ in tree]
    ohms += [draw(st.one_of(plain_ohms, st.just(math.inf))) for _ in links]
    ends = [draw(st.sampled_from([pair, pair[::-1]])) for pair in tree + links]
    return Network(
        branches=tuple(
            Branch(f"b{i}", start, end, resistance_ohm, draw(emfs))
            for i, ((start, end), resistance_ohm) in enumerate(
                zip(ends, ohms, strict=True)
            )
        )
    )


def networks():
    """Networks in which some nodes may float."""
    return grounded_networks(st.one_of(low_ohms, st.just(math.inf)))

"""Shared hypothesis strategies: readings as people type them, tables, estimates."""

from __future__ import annotations

from hypothesis import strategies as st

from fitkit.core.units import UNITS

units = st.sampled_from(sorted(UNITS))
# What a display of hundredths can show.
hundredths = st.integers(min_value=1, max_value=30_000).map(lambda n: f"{n / 100:.2f}")
feature_names = st.text(
    alphabet=st.characters(blacklist_categories=("Cs", "Cc", "Zs", "Zl", "Zp", "Cf")),
    min_size=1,
    max_size=12,
).filter(lambda name: name.strip() == name)


@st.composite
def repeats(draw: st.DrawFn, low: int = 2, high: int = 8) -> list[float]:
    """Draw repeats of one size, each within a millimetre, in whole hundredths."""
    size = draw(st.integers(min_value=500, max_value=20_000))
    steps = draw(st.lists(st.integers(-50, 50), min_size=low, max_size=high))
    return [(size + step) / 100 for step in steps]


@st.composite
def reading_rows(draw: st.DrawFn) -> list[dict[str, str]]:
    """Draw rows of a readings table, good and bad ones, with a column of the user's own."""
    texts = st.one_of(
        hundredths,
        hundredths.map(lambda text: f"{text} mm"),
        st.integers(1, 63).map(lambda n: f"{n}/64 in"),
        st.sampled_from(["", "16-Mar", "about 3", "1,234", "2026-03-16", "12.3 Mm"]),
    )
    return draw(
        st.lists(
            st.fixed_dictionaries(
                {
                    "feature": feature_names,
                    "reading": texts,
                    "mode": st.sampled_from(["outside", "inside", "depth", "step", "sideways"]),
                    "note": st.text(
                        alphabet=st.characters(blacklist_categories=("Cs", "Cc")), max_size=10
                    ).map(str.strip),
                    "shelf": st.sampled_from(["", "A, left", 'the "new" one', "007"]),
                }
            ),
            min_size=1,
            max_size=12,
        )
    )

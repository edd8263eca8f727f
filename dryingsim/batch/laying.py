"""Classes of slices by how they lie: split by shares that overlap or lie on foil, and put together again."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from dryingsim.batch.schema import Lies, ThicknessClass


def laid(classes: Sequence[ThicknessClass], shares: Mapping[Lies, float]) -> tuple[ThicknessClass, ...]:
    """Split every class by how its slices lie; the flat ones first.

    Parameters
    ----------
    classes : sequence of ThicknessClass
    shares : mapping
        Of the slices that lie in each way but "flat", which is the rest; they sum to one at most.

    Examples
    --------
    >>> for one in laid([ThicknessClass(thickness_m=0.005, share=1.0)], {"overlapping": 0.25}):
    ...     print(one.share, one.lies)
    0.75 flat
    0.25 overlapping
    """
    by_way: dict[Lies, float] = {"flat": 1.0 - sum(shares.values()), **shares}
    return tuple(
        replace(one, share=one.share * share, lies=lies)
        for lies, share in by_way.items()
        for one in classes
        if share > 0.0
    )


def of_one_thickness(classes: Sequence[ThicknessClass], thickness_m: float) -> tuple[ThicknessClass, ...]:
    """Return slices that lie as those of some classes do, all of one thickness.

    Parameters
    ----------
    classes : sequence of ThicknessClass
    thickness_m : float
        Raw [m].

    Examples
    --------
    >>> both = [ThicknessClass(thickness_m=0.004, share=0.5), ThicknessClass(thickness_m=0.006, share=0.5)]
    >>> of_one_thickness(both, 0.005)
    (ThicknessClass(thickness_m=0.005, share=1.0, lies='flat'),)
    """
    shares: dict[Lies, float] = {}
    for one in classes:
        shares[one.lies] = shares.get(one.lies, 0.0) + one.share
    total = sum(shares.values())
    return tuple(
        ThicknessClass(thickness_m=thickness_m, share=share / total, lies=lies)
        for lies, share in shares.items()
    )


def share_lying(classes: Sequence[ThicknessClass], lies: Lies) -> float:
    """Return the share of the raw weight that lies in a way.

    Parameters
    ----------
    classes : sequence of ThicknessClass
    lies : str
    """
    return sum(one.share for one in classes if one.lies == lies)

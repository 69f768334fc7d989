"""What the other machines of a shop say about a new one.

The other machines' posteriors become one more view of the new machine's prior, as wide as machines
differ. It competes with the views of the table by its evidence: a machine like the others starts
from them, one unlike them falls back on the table within a few coupons, and since the others are
only ever used as a prior, nothing flows back to them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from advisor.learning.mixture import Floats, Mixture
from advisor.learning.prior import Views

#: Share of the prior weight given to the shop's view: before its first coupon nothing says whether
#: a machine takes after the others or after the table. Choice of this project.
SHOP_WEIGHT = 0.5


def with_shop(views: Views, machines: Sequence[Mixture], between_sds: Floats) -> Views:
    """Return the views with those of the shop's other machines added.

    Parameters
    ----------
    views : Views
        Beliefs before any coupon.
    machines : sequence of Mixture
        The other machines, each fitted to its own coupons.
    between_sds : ndarray of shape (1 + n_features,)
        How much two machines differ in each coefficient, as a standard deviation.

    Returns
    -------
    Views
        Those of the table at half their weight, then those that believe what the shop's machines
        have in common, one for each scatter and habit of dialling in the table.
    """
    if not machines:
        return views
    moments = np.array([machine.moments() for machine in machines])
    means, variances = moments[:, 0], moments[:, 1]
    precisions = 1 / (variances + between_sds**2)
    mean = np.sum(precisions * means, axis=0) / precisions.sum(axis=0)
    sd = np.sqrt(1 / precisions.sum(axis=0) + between_sds**2)
    # One view for each scatter and each habit of dialling in the table, so that neither of them
    # tells the shop from the table: only what the coupons came out as does.
    kinds, which = np.unique(
        np.column_stack([views.noise_sds, views.dial_sds]), axis=0, return_inverse=True
    )
    weights = np.bincount(which.ravel(), views.weights)
    return Views(
        np.concatenate([(1 - SHOP_WEIGHT) * views.weights, SHOP_WEIGHT * weights]),
        np.vstack([views.means, np.tile(mean, (len(kinds), 1))]),
        np.vstack([views.sds, np.tile(sd, (len(kinds), 1))]),
        np.concatenate([views.noise_sds, kinds[:, 0]]),
        views.noise_dof,
        np.concatenate([views.dial_sds, kinds[:, 1]]),
    )

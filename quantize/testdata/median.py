# Solves a p-median problem with the HiGHS solver that comes with scipy.
# Input: clients, facilities, k, then the weighted costs row by row.
# Output: the least cost.
import sys
import numpy as np
from scipy.optimize import milp, LinearConstraint, Bounds
from scipy.sparse import coo_matrix

data = np.array(sys.stdin.read().split(), dtype=np.int64)
n, m, k = data[:3]
cost = data[3:].reshape(n, m)
scale = max(1, int(cost.sum() // n // m))  # HiGHS works in floats

i, j = (v.ravel() for v in np.meshgrid(np.arange(n), np.arange(m), indexing="ij"))
x = i * m + j  # client i is served at facility j
y = n * m + j  # facility j is open
one = np.ones(n * m)
served = coo_matrix((one, (i, x)), shape=(n, n * m + m))
linked = coo_matrix((np.concatenate([one, -one]), (np.concatenate([x, x]), np.concatenate([x, y]))), shape=(n * m, n * m + m))
count = coo_matrix((np.ones(m), (np.zeros(m, dtype=int), n * m + np.arange(m))), shape=(1, n * m + m))
r = milp(
    np.concatenate([cost.ravel() / scale, np.zeros(m)]),
    integrality=np.concatenate([np.zeros(n * m), np.ones(m)]),
    bounds=Bounds(0, 1),
    constraints=[LinearConstraint(served, 1, 1), LinearConstraint(linked, -np.inf, 0), LinearConstraint(count, k, k)],
    options={"mip_rel_gap": 0},
)
assert r.status == 0, r.message
open_ = np.flatnonzero(r.x[n * m:] > 0.5)
print(cost[:, open_].min(axis=1).sum())

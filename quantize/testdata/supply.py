# Solves a problem of supply with the HiGHS solver that comes with scipy.
# Input: clients, colors, most colors, most new ones, most bags, drills in a
# bag; the clients' cells; the colors' rooms; what a cell costs, row by row.
# Output: the least cost.
import sys
import numpy as np
from scipy.optimize import milp, LinearConstraint, Bounds
from scipy.sparse import coo_matrix

data = np.array(sys.stdin.read().split(), dtype=np.int64)
n, m, k, buy, bags, bag = data[:6]
count, room, cost = data[6:6 + n], data[6 + n:6 + n + m], data[6 + n + m:].reshape(n, m)
scale = max(1, int(cost.mean()))  # HiGHS works in floats

i, j = (v.ravel() for v in np.meshgrid(np.arange(n), np.arange(m), indexing="ij"))
x = i * m + j  # cells of client i from color j
y = n * m + j  # color j is in
z = n * m + m + np.arange(m)  # bags of color j
size = n * m + 2 * m
one = np.ones(n * m)
served = coo_matrix((one, (i, x)), shape=(n, size))
linked = coo_matrix((np.concatenate([one, -count[i].astype(float)]), (np.concatenate([x, x]), np.concatenate([x, y]))), shape=(n * m, size))
limited = np.flatnonzero((room > 0) | (bags > 0))  # others are bought without end
at = np.full(m, -1)
at[limited] = np.arange(len(limited))
rows = at[j]
has = rows >= 0
load = coo_matrix((np.concatenate([one[has], -float(bag) * np.ones(len(limited))]),
                   (np.concatenate([rows[has], np.arange(len(limited))]), np.concatenate([x[has], z[limited]]))), shape=(len(limited), size))
new = (room == 0) & (bags == 0)
pick = lambda v: coo_matrix((v.astype(float), (np.zeros(m, dtype=int), n * m + np.arange(m))), shape=(1, size))
more = coo_matrix((np.ones(m), (np.zeros(m, dtype=int), z)), shape=(1, size))
r = milp(
    np.concatenate([cost.ravel() / scale, np.zeros(2 * m)]),
    integrality=np.concatenate([np.zeros(n * m), np.ones(2 * m)]),
    bounds=Bounds(0, np.concatenate([count[i], np.ones(m), np.full(m, bags)]).astype(float)),
    constraints=[LinearConstraint(served, count, count), LinearConstraint(linked, -np.inf, 0), LinearConstraint(load, -np.inf, room[limited].astype(float)),
                 LinearConstraint(pick(np.ones(m)), 0, k), LinearConstraint(pick(new), 0, buy), LinearConstraint(more, 0, bags)],
    options={"mip_rel_gap": 0},
)
assert r.status == 0, r.message
print(int((np.round(r.x[:n * m]).astype(np.int64) * cost.ravel()).sum()))

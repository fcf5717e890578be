# The figures of a kit folder, reckoned from chart.csv, kit.json and target.bin
# alone, by another program than ours: scikit-image's CIEDE2000, and S-CIELAB as
# its authors define it, each Gaussian averaged over square drills by summing.
import csv, json, math, sys, zlib
import numpy as np
from scipy.special import erf
from skimage.color import deltaE_ciede2000

folder = sys.argv[1]


def target():
    raw = open(folder + "/target.bin", "rb").read()
    line = b"kitwright target 1\n"
    assert raw.startswith(line)
    data, at = zlib.decompress(raw[len(line):]), 0

    def number():
        nonlocal at
        v = shift = 0
        while True:
            c = data[at]
            at += 1
            v |= (c & 127) << shift
            shift += 7
            if c < 128:
                return v

    cols, rows = number(), number()
    shows = []
    while len(shows) < cols * rows:
        part, run = number(), number()
        shows += [part] * run
    planes = []
    for _ in range(3):
        v = []
        for i in range(cols * rows):
            z = number()
            d = (z >> 1) ^ -(z & 1)
            if i == 0:
                told = 0
            elif i < cols:
                told = v[-1]
            elif i % cols == 0:
                told = v[i - cols]
            else:
                left, above, corner = v[-1], v[i - cols], v[i - cols - 1]
                told = sorted([left, above, left + above - corner])[1]
            v.append(told + d)
        planes.append(np.array(v) / 4096)
    return np.array(shows).reshape(rows, cols), np.stack(planes, -1).reshape(rows, cols, 3)


white = np.array([0.95047, 1, 1.08883])
opponent = np.array([[0.2787336, 0.7218031, -0.1065520], [-0.4487736, 0.2898056, 0.0771569], [0.0859513, -0.5899859, 0.5011089]])
eye = [  # weight and spread, degrees
    [(1.00327, 0.0283), (0.114416, 0.133), (-0.117686, 4.336)],
    [(0.616725, 0.0392), (0.383275, 0.494)],
    [(0.567885, 0.0536), (0.432115, 0.386)],
]


def xyz(lab):
    y = (lab[..., 0] + 16) / 116
    f = np.stack([y + lab[..., 1] / 500, y, y - lab[..., 2] / 200], -1)
    return np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29)) * white


def lab(v):
    t = np.maximum(v, 0) / white
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], -1)


def blurred(plane, sigma, reach):
    u = (np.arange(400) + 0.5) / 400  # where in its drill the eye looks
    upto = lambda x: 0.5 * (1 + erf(x / sigma / math.sqrt(2)))
    half = np.array([np.mean(upto(j + 1 - u) - upto(j - u)) for j in range(reach + 1)])
    kernel = np.concatenate([half[:0:-1], half])
    kernel /= kernel.sum()
    for _ in range(2):
        wide = np.pad(plane, ((0, 0), (reach, reach)), mode="symmetric")
        plane = sum(k * wide[:, j : j + plane.shape[1]] for j, k in enumerate(kernel)).T
    return plane


def seen(picture, per_degree):
    light = xyz(picture) @ opponent.T
    for c, gaussians in enumerate(eye):
        light[..., c] = sum(w * blurred(light[..., c], s / math.sqrt(2) * per_degree, int(per_degree / 2)) for w, s in gaussians)
    return lab(light @ np.linalg.inv(opponent).T)


kit = json.load(open(folder + "/kit.json"))
place = {c["number"]: i for i, c in enumerate(kit["legend"])}
cells = np.array([[place[int(v)] for v in row] for row in csv.reader(open(folder + "/chart.csv"))])
colors = np.array([c["lab"] for c in kit["legend"]])
shows, want = target()
got = colors[cells]
photo, subject = shows > 0, shows == 2
off = deltaE_ciede2000(want, got)
nearest = np.min([deltaE_ciede2000(want, np.broadcast_to(c, want.shape)) for c in colors], axis=0)
per_degree = math.pi / 180 / (2 * math.atan(kit["grid"]["pitch_mm"] / 2 / 2000))
far = deltaE_ciede2000(seen(want, per_degree), seen(got, per_degree))
alone = np.ones(cells.shape, bool)
alone[:, 1:] &= cells[:, 1:] != cells[:, :-1]
alone[:, :-1] &= cells[:, 1:] != cells[:, :-1]
alone[1:] &= cells[1:] != cells[:-1]
alone[:-1] &= cells[1:] != cells[:-1]
sorted_off = np.sort(off[photo])
print(json.dumps({
    "mean": off[photo].mean(), "subject": off[subject].mean() if subject.any() else 0, "nearest": nearest[photo].mean(),
    "p95": sorted_off[math.ceil(0.95 * len(sorted_off)) - 1], "worst": sorted_off[-1],
    "far": far[subject if subject.any() else photo].mean(), "confetti": (alone & photo).sum() / photo.sum(), "lone": int(alone.sum()),
}))

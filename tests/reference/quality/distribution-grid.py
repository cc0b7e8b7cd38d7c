"""Writes distribution-grid.json: tails and quantiles of the distributions, computed with 50 digits by mpmath.

Run by hand (Python 3, mpmath 1.3.0, SciPy 1.17.1 for places near quantiles); neither the program nor its tests need it:

    python3 distribution-grid.py [processes] > distribution-grid.json

Continuous distributions, rows [tail, p, x, lower, upper]: x is the double nearest to the quantile of p (of the named tail),
`lower` and `upper` are P(X <= x) and P(X > x) of exactly that double; for the noncentral t x is a double near
the quantile, and p the tail that it has. Counts, rows [k, lower, upper]: P(X <= k), P(X > k).
Every number is the double nearest to a value of which more than 20 digits are right: each continued fraction and sum runs
until its terms no longer count in 50 digits, each trapezoidal rule (30 digits) is halved until 12 digits agree, which
doubles them.
"""

import json
import sys
import warnings
from multiprocessing import Pool

from mpmath import mp, mpf
from scipy.stats import nct

mp.dps = 50
EPS = mpf(10) ** -48

NEAR = [1e-12, 1e-11, 1e-10, 1e-9, 1e-8, 1e-7, 1e-6, 1e-5, 1e-4, 0.00135, 0.005, 0.01, 0.025, 0.05, 0.1, 0.2, 0.3, 0.4]
MIDDLE = [0.45, 0.49, 0.499999]
FAR = [1e-300, 1e-100, 1e-30, 1e-18]
ENDS = [("lower", p) for p in FAR + NEAR + MIDDLE] + [("lower", 0.5)] + [("upper", p) for p in MIDDLE[::-1] + NEAR[::-1] + FAR[::-1]]

ENDS_SLOW = [1e-300, 1e-100, 1e-30, 1e-12, 1e-10, 1e-9, 1e-7, 1e-6, 1e-5, 1e-4, 0.00135, 0.01, 0.025, 0.05, 0.1, 0.3, 0.49]

T_DF = [0.5, 1, 2, 2.7, 5, 30, 125, 1000, 12345.6, 1e6]
CHI_SQUARE_DF = [0.5, 1, 2, 3.7, 5, 9, 30, 124, 1000, 12345.6, 1e5, 1e6]
F_DF = [(1, 1), (1, 10), (2, 2), (0.5, 30), (3.5, 7.25), (5, 5), (9, 9), (2, 18), (18, 60), (124, 124), (1, 1000), (1000, 1)]
F_DF += [(500, 400), (3, 1e5), (1e5, 3), (1e5, 1e5)]
NONCENTRAL_T = [(1, 0), (5, 0), (0.5, 1), (1, 1.8124), (2, -1), (2, 4), (4, 6.7082), (5, 5), (9, 2.1), (9, -16.4), (29, 16.4317)]
NONCENTRAL_T += [(30.5, 37), (29, 49.295), (3, 60), (124, 44.6), (125, 56.0135), (125, -60), (99, 0.25), (299, 155.9), (299, 300)]
NONCENTRAL_T += [(1000, 5), (1000, -300), (9, 1000), (1e5, 1), (1e5, 1000), (1e5, 3000)]
NONCENTRAL_T += [(1.1, 614), (3, 1500)]
BINOMIAL = [(1, 0.5), (10, 0.5), (80, 0.01), (125, 0.0065), (125, 0.05), (50, 0.1), (500, 0.999), (2000, 1e-4), (1250, 0.3)]
BINOMIAL += [(20000, 0.016), (1000000, 1e-6), (1000000, 0.5), (1000000, 0.02)]
POISSON = [1e-6, 0.05, 0.8, 4, 12.5, 60, 100, 1234.5, 1e4, 1e6]
HYPERGEOMETRIC = [(50, 5, 10), (20, 8, 18), (1200, 12, 80), (100, 30, 10), (200, 10, 150), (1000, 500, 500), (100000, 10, 1250)]
HYPERGEOMETRIC += [(500000, 8000, 1250), (1000000, 200000, 300000), (1000000, 100, 50000), (1000000, 999000, 2000)]


def lentz(first, terms):
    """Continued fraction first + a1/(b1 + a2/(b2 + ...)) of pairs (a, b)."""
    f = c = first if first else mpf(10) ** -300
    d = mpf(0)
    for a, b in terms:
        d = 1 / (b + a * d)
        c = b + a / c
        f *= c * d
        if abs(c * d - 1) < EPS:
            return f
    raise ArithmeticError("continued fraction ended")


def beta_fraction(x, a, b):
    """I_x(a, b) for x below the mean: DLMF 8.17.22."""

    def terms():
        yield mpf(1), mpf(1)
        m = 0
        while True:
            yield -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)), mpf(1)
            m += 1
            yield m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)), mpf(1)

    scale = a * mp.log(x) + b * mp.log1p(-x) + mp.loggamma(a + b) - mp.loggamma(a) - mp.loggamma(b)
    return mp.exp(scale) / a * lentz(mpf(0), terms())


def beta_tails(x, rest, a, b):
    """I_x(a, b) and its complement; rest is 1 - x."""
    if x * (a + b + 2) < a + 1:
        lower = beta_fraction(x, a, b)
        return lower, 1 - lower
    upper = beta_fraction(rest, b, a)
    return 1 - upper, upper


def gamma_tails(a, x):
    """P(a, x) by its series DLMF 8.7.1 or Q(a, x) by the continued fraction DLMF 8.9.2, and the complement."""
    scale = mp.exp(a * mp.log(x) - x - mp.loggamma(a))
    if x < a + 1:
        term = total = 1 / a
        n = 1
        while term > total * EPS:
            term *= x / (a + n)
            total += term
            n += 1
        return scale * total, 1 - scale * total

    def terms():
        yield mpf(1), x + 1 - a
        n = 1
        while True:
            yield n * (a - n), x + 2 * n + 1 - a
            n += 1

    upper = scale * lentz(mpf(0), terms())
    return 1 - upper, upper


class Normal:
    start = mpf(0)
    low = None

    def tails(self, x):
        return mp.erfc(-x / mp.sqrt(2)) / 2, mp.erfc(x / mp.sqrt(2)) / 2


class StudentT:
    low = None

    def __init__(self, df):
        self.df, self.start = mpf(df), mpf(0)

    def tails(self, x):
        square = x * x
        _, outer = beta_tails(square / (self.df + square), self.df / (self.df + square), mpf(1) / 2, self.df / 2) if x else (0, mpf(1))
        return (1 - outer / 2, outer / 2) if x > 0 else (outer / 2, 1 - outer / 2)


class ChiSquare:
    low = mpf(0)

    def __init__(self, df):
        self.df, self.start = mpf(df), mpf(df)

    def tails(self, x):
        return gamma_tails(self.df / 2, x / 2)


class F:
    low = mpf(0)

    def __init__(self, df1, df2):
        self.df1, self.df2, self.start = mpf(df1), mpf(df2), mpf(1)

    def tails(self, x):
        one = self.df1 * x
        return beta_tails(one / (one + self.df2), self.df2 / (one + self.df2), self.df1 / 2, self.df2 / 2)


class NoncentralT:
    """P(T <= t) = integral of Phi(t s - ncp) over the chi density of s, by the trapezoidal rule over u = log s."""

    low = None
    # It takes seconds for a row: every second probability.
    ends = [("lower", p) for p in ENDS_SLOW] + [("lower", 0.5)] + [("upper", p) for p in ENDS_SLOW[::-1]]

    def __init__(self, df, ncp):
        self.df, self.ncp, self.start = mpf(df), mpf(ncp), mpf(ncp)
        self.scale = mp.log(2) + self.df / 2 * mp.log(self.df / 2) - mp.loggamma(self.df / 2)

    def guess(self, tail, p):
        """About where the quantile is, from SciPy: its tails are computed with many digits here."""
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            x = (nct.ppf if tail == "lower" else nct.isf)(float(p), float(self.df), float(self.ncp))
        return float(x) if abs(x) < 1e300 and x else None

    def logarithm(self, x, sign, u):
        """Logarithm of the integrand; erfc does not underflow in mpmath, but refuses arguments beyond all measure."""
        s = mp.exp(u)
        y = sign * (x * s - self.ncp) / mp.sqrt(2)
        log_phi = mp.log(mp.erfc(y) / 2) if abs(y) < 10**6 else -y * y if y > 0 else mpf(0)
        return log_phi + self.scale + self.df * (u - s * s / 2)

    def one(self, x, sign):
        value = lambda u: self.logarithm(x, sign, u)
        # The logarithm is concave in s, so it has one peak; golden section over a wide range of u, then the two ends.
        low, high = mpf(-800) / min(self.df, 1), mpf(5)
        with mp.workdps(15):
            golden = (mp.sqrt(5) - 1) / 2
            for _ in range(45):
                left, right = high - golden * (high - low), low + golden * (high - low)
                if value(left) < value(right):
                    low = left
                else:
                    high = right
            peak = (low + high) / 2
        # What lies below this level beside the peak no longer counts in the digits asked for.
        level = value(peak) - mpf(2.5) * mp.dps

        def end(direction):
            inner, step = mpf(0), mpf(10) ** -6
            while value(peak + direction * step) > level:
                inner, step = step, 2 * step
            for _ in range(6):
                middle = (inner + step) / 2
                inner, step = (middle, step) if value(peak + direction * middle) > level else (inner, middle)
            return peak + direction * step

        a, b = end(-1), end(1)
        n = 64
        h = (b - a) / n
        total = sum(mp.exp(value(a + i * h)) for i in range(n + 1))
        while n < 200000:
            finer = total + sum(mp.exp(value(a + (i + mpf(1) / 2) * h)) for i in range(n))
            if abs(finer / (2 * total) - 1) < mpf(10) ** (-0.4 * mp.dps):
                # Halving squares the error of the rule, so the finer sum has twice these digits.
                return finer * h / 2
            total, n, h = finer, 2 * n, h / 2
        raise ArithmeticError("trapezoidal rule does not settle")

    def tails(self, x):
        lower = self.one(x, -1)
        if lower < mpf(1) / 2:
            return lower, 1 - lower
        upper = self.one(x, 1)
        return 1 - upper, upper


def quantile(dist, tail, p):
    """x with the tail p: the secant rule on log p over a stretched x, inside a bracket."""
    # log x where x is positive, else a line near zero and a logarithm far out.
    to_x = (lambda y: mp.exp(y)) if dist.low is not None else (lambda y: mp.sinh(y))
    to_y = (lambda x: mp.log(x)) if dist.low is not None else (lambda x: mp.asinh(x))
    with mp.workdps(25):
        goal = mp.log(p)
        sign = 1 if tail == "lower" else -1

        def miss(y):
            lower, upper = dist.tails(to_x(y))
            value = lower if tail == "lower" else upper
            return sign * (mp.log(value) - goal) if value > 0 else -sign * mpf(10) ** 6

        low = high = to_y(dist.start)
        f_low = f_high = miss(low)
        step = mpf(1) / 16
        while f_low > 0:
            high, f_high = low, f_low
            low, step = low - step, 2 * step
            f_low = miss(low)
        while f_high < 0:
            low, f_low = high, f_high
            high, step = high + step, 2 * step
            f_high = miss(high)
        # Ridders, "A new algorithm for computing a single root of a real continuous function" (1979).
        while f_low and f_high:
            middle = (low + high) / 2
            f_middle = miss(middle)
            new = middle - (middle - low) * f_middle / mp.sqrt(f_middle**2 - f_low * f_high)
            f_new = miss(new)
            points = sorted([(low, f_low), (middle, f_middle), (new, f_new), (high, f_high)])
            for (a, fa), (b, fb) in zip(points, points[1:]):
                if fa <= 0 <= fb:
                    low, f_low, high, f_high = a, fa, b, fb
            if abs(f_new) < mpf(10) ** -20 or high - low < mpf(10) ** -20 * abs(high):
                return to_x(new)
        return to_x(low if not f_low else high)


def continuous(dist):
    if hasattr(dist, "guess"):
        return guessed(dist)
    rows = []
    for tail, p in ENDS:
        exact = quantile(dist, tail, mpf(p))
        if abs(exact) > mpf(10) ** 300:
            continue
        x = float(exact)
        if abs(x) < 1e-22 and dist.low is None:
            x = 0.0
        if abs(x) < 1e-290 and (x or dist.low is not None):
            continue
        lower, upper = dist.tails(mpf(x))
        rows.append([tail, p, x, float(lower), float(upper)])
    return rows


def guessed(dist):
    """Rows of a distribution whose tails take long: x is SciPy's quantile, and p the tail that it truly has."""
    rows = []
    for tail, p in dist.ends:
        x = dist.guess(tail, p)
        if x is None:
            continue
        with mp.workdps(30):
            lower, upper = dist.tails(mpf(x))
            there = float(lower if tail == "lower" else upper)
            if 1e-305 < there < 1:
                rows.append([tail, there, x, float(lower), float(upper)])
    return rows


def counted(least, most, mode, log_pmf, up):
    """Rows of a count: log_pmf(k), and the ratio up(k) = P(k + 1)/P(k)."""

    def upper_sum(k):
        term, total = mp.exp(log_pmf(k)), mpf(0)
        while k <= most and term > total * EPS:
            total += term
            term *= up(k)
            k += 1
        return total

    def lower_sum(k):
        term, total = mp.exp(log_pmf(k)), mpf(0)
        while k >= least and term > total * EPS:
            total += term
            if k > least:
                term /= up(k - 1)
            k -= 1
        return total

    def tails(k):
        if k < mode:
            lower = lower_sum(k)
            return lower, 1 - lower
        upper = upper_sum(k + 1) if k < most else mpf(0)
        return 1 - upper, upper

    wanted = set([least, mode, min(mode + 1, most), max(least, min(most - 1, mode + 3))])
    with mp.workdps(20):
        for tail, p in ENDS:
            # Bisection for the first k whose tail passes p.
            low, high = (least - 1, mode) if tail == "lower" else (mode - 1, min(most, mode * 50 + 400))
            while high - low > 1:
                k = (low + high) // 2
                lower, upper = tails(k)
                passed = lower >= p if tail == "lower" else upper <= p
                low, high = (low, k) if passed else (k, high)
            wanted.add(high)
    rows = []
    for k in sorted(wanted):
        lower, upper = tails(k)
        if (lower > 1e-305) and (upper > 1e-305 or k == most):
            rows.append([k, float(lower), float(upper)])
    return rows


def log_choose(n, k):
    return mp.loggamma(n + 1) - mp.loggamma(k + 1) - mp.loggamma(n - k + 1)


def binomial(n, p):
    p = mpf(p)
    pmf = lambda k: log_choose(n, k) + k * mp.log(p) + (n - k) * mp.log1p(-p)
    return counted(0, n, int((n + 1) * p) if (n + 1) * p < n else n, pmf, lambda k: (n - k) * p / ((k + 1) * (1 - p)))


def poisson(mean):
    mean = mpf(mean)
    pmf = lambda k: k * mp.log(mean) - mean - mp.loggamma(k + 1)
    return counted(0, 10**9, int(mean), pmf, lambda k: mean / (k + 1))


def hypergeometric(lot, bad, sample):
    pmf = lambda k: log_choose(bad, k) + log_choose(lot - bad, sample - k) - log_choose(lot, sample)
    up = lambda k: mpf((bad - k) * (sample - k)) / ((k + 1) * (lot - bad - sample + k + 1))
    mode = (sample + 1) * (bad + 1) // (lot + 2)
    return counted(max(0, sample + bad - lot), min(sample, bad), mode, pmf, up)


def tasks():
    yield "normal", {}, Normal, ()
    for df in T_DF:
        yield "t", {"df": df}, StudentT, (df,)
    for df in CHI_SQUARE_DF:
        yield "chi-square", {"df": df}, ChiSquare, (df,)
    for df1, df2 in F_DF:
        yield "F", {"df1": df1, "df2": df2}, F, (df1, df2)
    for df, ncp in NONCENTRAL_T:
        yield "noncentral t", {"df": df, "ncp": ncp}, NoncentralT, (df, ncp)
    for n, p in BINOMIAL:
        yield "binomial", {"n": n, "p": p}, binomial, (n, p)
    for mean in POISSON:
        yield "Poisson", {"mean": mean}, poisson, (mean,)
    for lot, bad, sample in HYPERGEOMETRIC:
        yield "hypergeometric", {"lot": lot, "bad": bad, "sample": sample}, hypergeometric, (lot, bad, sample)


def block(task):
    name, parameters, make, given = task
    made = make(*given)
    rows = made if isinstance(made, list) else continuous(made)
    print(f"{name} {parameters}: {len(rows)}", file=sys.stderr, flush=True)
    return {"distribution": name, "parameters": parameters, "rows": rows}


def main():
    with Pool(int(sys.argv[1]) if len(sys.argv) > 1 else 1) as pool:
        blocks = pool.map(block, list(tasks()), chunksize=1)
    about = [line for line in __doc__.strip().split("\n") if line]
    print('{"about": ' + json.dumps(about, indent=1) + ',\n"blocks": [')
    for at, each in enumerate(blocks):
        head = json.dumps({key: each[key] for key in ("distribution", "parameters")})[:-1]
        rows = ",\n".join(json.dumps(row) for row in each["rows"])
        print(head + ', "rows": [\n' + rows + "\n]}" + ("," if at + 1 < len(blocks) else ""))
    print("]}")


if __name__ == "__main__":
    main()

/* Reference for the Monte Carlo bench: one thread, xoshiro256+ and a 256-layer ziggurat, whole arrays,
   quantiles by selection. Arguments: case (linear | angle | mixed), samples, rounds.
   Prints one line of JSON: median and best milliseconds, and the figures of the last round. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static uint64_t s[4];

static inline uint64_t rotl(uint64_t x, int k) { return (x << k) | (x >> (64 - k)); }

static inline uint64_t next(void) {
  const uint64_t r = s[0] + s[3], t = s[1] << 17;
  s[2] ^= s[0]; s[3] ^= s[1]; s[1] ^= s[2]; s[0] ^= s[3]; s[2] ^= t; s[3] = rotl(s[3], 45);
  return r;
}

static void seed(uint64_t x) {
  for (int i = 0; i < 4; i++) {
    x += 0x9e3779b97f4a7c15ULL;
    uint64_t z = x;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    s[i] = z ^ (z >> 31);
  }
}

static inline double uniform(void) { return (double)(next() >> 11) * 0x1p-53; }

static double width[257], height[257];
static struct { double w, k; } layer[256];
static const double R = 3.6541528853610088, V = 0.00492867323399;

static void tables(void) {
  width[0] = V / exp(-0.5 * R * R);
  width[1] = R;
  for (int i = 2; i < 256; i++)
    width[i] = sqrt(-2 * log(V / width[i - 1] + exp(-0.5 * width[i - 1] * width[i - 1])));
  width[256] = 0;
  for (int i = 0; i <= 256; i++) height[i] = exp(-0.5 * width[i] * width[i]);
  for (int i = 0; i < 256; i++) {
    layer[i].w = width[i] * 0x1p-51;
    layer[i].k = width[i + 1] / width[i] * 0x1p51;
  }
}

static double __attribute__((noinline)) slow(int i, double x);

static inline double normal(void) {
  const int64_t r = (int64_t)next();
  const int i = r & 255;
  const double m = (double)(r >> 12), x = m * layer[i].w;
  if (__builtin_expect(fabs(m) < layer[i].k, 1)) return x;
  return slow(i, x);
}

static double slow(int i, double x) {
  if (i == 0) {
    double a, b;
    do { a = -log(1 - uniform()) / R; b = -log(1 - uniform()); } while (b + b < a * a);
    return x < 0 ? -R - a : R + a;
  }
  if (height[i] + uniform() * (height[i + 1] - height[i]) < exp(-0.5 * x * x)) return x;
  return normal();
}

static inline double triangular(double low, double mode, double high) {
  const double u = uniform(), f = (mode - low) / (high - low);
  return u < f ? low + sqrt(u * (high - low) * (mode - low)) : high - sqrt((1 - u) * (high - low) * (high - mode));
}

/* the k-th smallest, by Hoare's selection; a[] is reordered */
static double select_kth(double *a, long n, long k) {
  long l = 0, r = n - 1;
  while (l < r) {
    const double x = a[k];
    long i = l, j = r;
    do {
      while (a[i] < x) i++;
      while (x < a[j]) j--;
      if (i <= j) { const double t = a[i]; a[i] = a[j]; a[j] = t; i++; j--; }
    } while (i <= j);
    if (j < k) l = i;
    if (k < i) r = j;
  }
  return a[k];
}

static double now(void) {
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return t.tv_sec * 1e3 + t.tv_nsec * 1e-6;
}

static int by_value(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

int main(int argc, char **argv) {
  const char *which = argc > 1 ? argv[1] : "linear";
  const long n = argc > 2 ? atol(argv[2]) : 1000000;
  const int rounds = argc > 3 ? atoi(argv[3]) : 9;
  double *y = malloc(n * sizeof *y), *ms = malloc(rounds * sizeof *ms);
  double mean = 0, sd = 0, q0 = 0, q1 = 0, lower, upper;
  long outside = 0;
  tables();
  for (int round = 0; round < rounds; round++) {
    seed(round + 1);
    const double start = now();
    if (!strcmp(which, "linear")) {
      lower = 0.02 - 0.12; upper = 0.02 + 0.12;
      for (long i = 0; i < n; i++) {
        double sum = 0;
        sum += 10 + 0.01 * normal(); sum -= 20 + 0.02 * normal(); sum += 30 + 0.015 * normal();
        sum -= 5 + 0.01 * normal(); sum += 8 + 0.01 * normal(); sum -= 12.98 + 0.02 * normal();
        sum += 4 + 0.005 * normal(); sum -= 14 + 0.01 * normal();
        y[i] = sum;
      }
    } else if (!strcmp(which, "angle")) {
      lower = 0.1120; upper = 0.1330;
      for (long i = 0; i < n; i++) {
        const double a = 27.645 + 0.0166667 * normal(), b = 11.43 + 0.0033333 * normal();
        const double c = 11.43 + 0.0033333 * normal(), e = 50.8 + 0.0041667 * normal();
        const double h = (b + c) / 2;
        y[i] = acos((a + h) / (e - h));
      }
    } else {
      lower = 9.85; upper = 10.15;
      for (long i = 0; i < n; i++) {
        double sum = 10 + 0.01 * normal() - (1 + 0.02 * normal()) + (1 + 0.015 * normal()) - (1 + 0.01 * normal());
        sum += 0.98 + 0.04 * uniform(); sum -= 0.97 + 0.06 * uniform(); sum += 0.99 + 0.02 * uniform();
        sum -= triangular(0.95, 1, 1.05); sum += triangular(0.97, 1, 1.03); sum += triangular(-0.02, 0, 0.02);
        y[i] = sum;
      }
    }
    /* mean and sd around the first value, so that nothing cancels */
    double s1 = 0, s2 = 0;
    const double centre = y[0];
    outside = 0;
    for (long i = 0; i < n; i++) {
      const double d = y[i] - centre;
      s1 += d; s2 += d * d;
      outside += (y[i] < lower) | (y[i] > upper);
    }
    mean = centre + s1 / n;
    sd = sqrt((s2 - s1 * s1 / n) / (n - 1));
    q0 = select_kth(y, n, (long)(0.00135 * n));
    q1 = select_kth(y, n, (long)(0.99865 * n));
    ms[round] = now() - start;
  }
  qsort(ms, rounds, sizeof *ms, by_value);
  printf("{\"ms\":%.3f,\"best\":%.3f,\"mean\":%.9g,\"sd\":%.9g,\"q0\":%.9g,\"q1\":%.9g,\"outside\":%.9g}\n",
         ms[rounds / 2], ms[0], mean, sd, q0, q1, (double)outside / n);
  return 0;
}

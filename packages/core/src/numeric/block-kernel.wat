;; Inner loops of the block sampler. The same arithmetic, in the same order, stands in plain JS in
;; block-kernel.ts; a test compares the two bit for bit. All pointers are byte offsets, multiples of
;; 16; $end is the pointer behind the last element of the first operand named.
(module
  (import "env" "memory" (memory 1))
  ;; a normal that missed the inside of its ziggurat layer: layer number, first try -> deviate
  (import "env" "outside" (func $outside (param i32 f64) (result f64)))

  ;; four xoshiro128++ streams side by side; state is four words of four lanes
  (func (export "words") (param $state i32) (param $out i32) (param $end i32)
    (local $s0 v128) (local $s1 v128) (local $s2 v128) (local $s3 v128) (local $t v128)
    (local.set $s0 (v128.load (local.get $state)))
    (local.set $s1 (v128.load offset=16 (local.get $state)))
    (local.set $s2 (v128.load offset=32 (local.get $state)))
    (local.set $s3 (v128.load offset=48 (local.get $state)))
    (loop $next
      (local.set $t (i32x4.add (local.get $s0) (local.get $s3)))
      (v128.store (local.get $out)
        (i32x4.add
          (v128.or
            (i32x4.shl (local.get $t) (i32.const 7))
            (i32x4.shr_u (local.get $t) (i32.const 25)))
          (local.get $s0)))
      (local.set $t (i32x4.shl (local.get $s1) (i32.const 9)))
      (local.set $s2 (v128.xor (local.get $s2) (local.get $s0)))
      (local.set $s3 (v128.xor (local.get $s3) (local.get $s1)))
      (local.set $s1 (v128.xor (local.get $s1) (local.get $s2)))
      (local.set $s0 (v128.xor (local.get $s0) (local.get $s3)))
      (local.set $s2 (v128.xor (local.get $s2) (local.get $t)))
      (local.set $s3
        (v128.or
          (i32x4.shl (local.get $s3) (i32.const 11))
          (i32x4.shr_u (local.get $s3) (i32.const 21))))
      (br_if $next
        (i32.lt_u
          (local.tee $out (i32.add (local.get $out) (i32.const 16)))
          (local.get $end))))
    (v128.store (local.get $state) (local.get $s0))
    (v128.store offset=16 (local.get $state) (local.get $s1))
    (v128.store offset=32 (local.get $state) (local.get $s2))
    (v128.store offset=48 (local.get $state) (local.get $s3)))

  ;; out = mean + sd * normal; layers holds pairs (scale, limit)
  (func (export "normals")
    (param $words i32) (param $layers i32) (param $out i32) (param $end i32)
    (param $mean f64) (param $sd f64)
    (local $r i64) (local $m f64) (local $x f64) (local $layer i32)
    (loop $next
      (local.set $r (i64.load (local.get $words)))
      (local.set $m (f64.convert_i64_s (i64.shr_s (local.get $r) (i64.const 12))))
      (local.set $layer
        (i32.add
          (local.get $layers)
          (i32.shl (i32.and (i32.wrap_i64 (local.get $r)) (i32.const 1023)) (i32.const 4))))
      (local.set $x (f64.mul (local.get $m) (f64.load (local.get $layer))))
      (if
        (i32.eqz
          (f64.lt (f64.abs (local.get $m)) (f64.load offset=8 (local.get $layer))))
        (then
          (local.set $x
            (call $outside
              (i32.and (i32.wrap_i64 (local.get $r)) (i32.const 1023))
              (local.get $x)))))
      (f64.store (local.get $out)
        (f64.add (local.get $mean) (f64.mul (local.get $sd) (local.get $x))))
      (local.set $words (i32.add (local.get $words) (i32.const 8)))
      (br_if $next
        (i32.lt_u
          (local.tee $out (i32.add (local.get $out) (i32.const 8)))
          (local.get $end)))))

  ;; the upper 52 bits k of each word pair as (k + 1/2) / 2^52, inside (0, 1); k by way of 2^52 + k
  (func (export "uniforms")
    (param $words i32) (param $out i32) (param $end i32) (param $lower f64) (param $width f64)
    (loop $next
      (v128.store (local.get $out)
        (f64x2.add
          (f64x2.splat (local.get $lower))
          (f64x2.mul
            (f64x2.splat (local.get $width))
            (f64x2.mul
              (f64x2.add
                (f64x2.sub
                  (v128.or
                    (i64x2.shr_u (v128.load (local.get $words)) (i32.const 12))
                    (v128.const i64x2 0x4330000000000000 0x4330000000000000))
                  (v128.const f64x2 0x1p52 0x1p52))
                (v128.const f64x2 0.5 0.5))
              (v128.const f64x2 0x1p-52 0x1p-52)))))
      (local.set $words (i32.add (local.get $words) (i32.const 16)))
      (br_if $next
        (i32.lt_u
          (local.tee $out (i32.add (local.get $out) (i32.const 16)))
          (local.get $end)))))

  ;; inverse of the triangular distribution: $left = width * (mode - lower), $right = width * (upper - mode)
  (func (export "triangulars")
    (param $words i32) (param $out i32) (param $end i32)
    (param $lower f64) (param $upper f64) (param $split f64) (param $left f64) (param $right f64)
    (local $u v128)
    (loop $next
      (local.set $u (f64x2.mul
              (f64x2.add
                (f64x2.sub
                  (v128.or
                    (i64x2.shr_u (v128.load (local.get $words)) (i32.const 12))
                    (v128.const i64x2 0x4330000000000000 0x4330000000000000))
                  (v128.const f64x2 0x1p52 0x1p52))
                (v128.const f64x2 0.5 0.5))
              (v128.const f64x2 0x1p-52 0x1p-52)))
      (v128.store (local.get $out)
        (v128.bitselect
          (f64x2.add
            (f64x2.splat (local.get $lower))
            (f64x2.sqrt (f64x2.mul (local.get $u) (f64x2.splat (local.get $left)))))
          (f64x2.sub
            (f64x2.splat (local.get $upper))
            (f64x2.sqrt
              (f64x2.mul
                (f64x2.sub (v128.const f64x2 1 1) (local.get $u))
                (f64x2.splat (local.get $right)))))
          (f64x2.lt (local.get $u) (f64x2.splat (local.get $split)))))
      (local.set $words (i32.add (local.get $words) (i32.const 16)))
      (br_if $next
        (i32.lt_u
          (local.tee $out (i32.add (local.get $out) (i32.const 16)))
          (local.get $end)))))

  @BINARY@
  @UNARY@

  ;; out = shift + scale * a
  (func (export "affine") (param $out i32) (param $end i32) (param $a i32) (param $scale f64) (param $shift f64)
    (loop $next
      (v128.store (local.get $out)
        (f64x2.add
          (f64x2.splat (local.get $shift))
          (f64x2.mul (f64x2.splat (local.get $scale)) (v128.load (local.get $a)))))
      (local.set $a (i32.add (local.get $a) (i32.const 16)))
      (br_if $next
        (i32.lt_u
          (local.tee $out (i32.add (local.get $out) (i32.const 16)))
          (local.get $end)))))

  ;; out = out + scale * a
  (func (export "addScaled") (param $out i32) (param $end i32) (param $a i32) (param $scale f64)
    (loop $next
      (v128.store (local.get $out)
        (f64x2.add
          (v128.load (local.get $out))
          (f64x2.mul (f64x2.splat (local.get $scale)) (v128.load (local.get $a)))))
      (local.set $a (i32.add (local.get $a) (i32.const 16)))
      (br_if $next
        (i32.lt_u
          (local.tee $out (i32.add (local.get $out) (i32.const 16)))
          (local.get $end)))))

  ;; Sums over z = (y - centre) / unit, even and odd elements apart: z, z^2, z^3, z^4, then least,
  ;; most, and (as integers) how many lie below $lower and above $upper. Two lanes each, to $sums.
  (func (export "sums")
    (param $values i32) (param $end i32) (param $sums i32)
    (param $centre f64) (param $perUnit f64) (param $lower f64) (param $upper f64)
    (local $y v128) (local $z v128) (local $q v128)
    (local $s1 v128) (local $s2 v128) (local $s3 v128) (local $s4 v128)
    (local $least v128) (local $most v128) (local $below v128) (local $above v128)
    (local.set $least (f64x2.splat (f64.const inf)))
    (local.set $most (f64x2.splat (f64.const -inf)))
    (loop $next
      (local.set $y (v128.load (local.get $values)))
      (local.set $z
        (f64x2.mul
          (f64x2.sub (local.get $y) (f64x2.splat (local.get $centre)))
          (f64x2.splat (local.get $perUnit))))
      (local.set $q (f64x2.mul (local.get $z) (local.get $z)))
      (local.set $s1 (f64x2.add (local.get $s1) (local.get $z)))
      (local.set $s2 (f64x2.add (local.get $s2) (local.get $q)))
      (local.set $s3 (f64x2.add (local.get $s3) (f64x2.mul (local.get $q) (local.get $z))))
      (local.set $s4 (f64x2.add (local.get $s4) (f64x2.mul (local.get $q) (local.get $q))))
      (local.set $least (f64x2.pmin (local.get $least) (local.get $y)))
      (local.set $most (f64x2.pmax (local.get $most) (local.get $y)))
      (local.set $below
        (i64x2.sub (local.get $below)
          (f64x2.lt (local.get $y) (f64x2.splat (local.get $lower)))))
      (local.set $above
        (i64x2.sub (local.get $above)
          (f64x2.gt (local.get $y) (f64x2.splat (local.get $upper)))))
      (br_if $next
        (i32.lt_u
          (local.tee $values (i32.add (local.get $values) (i32.const 16)))
          (local.get $end))))
    (v128.store (local.get $sums) (local.get $s1))
    (v128.store offset=16 (local.get $sums) (local.get $s2))
    (v128.store offset=32 (local.get $sums) (local.get $s3))
    (v128.store offset=48 (local.get $sums) (local.get $s4))
    (v128.store offset=64 (local.get $sums) (local.get $least))
    (v128.store offset=80 (local.get $sums) (local.get $most))
    (v128.store offset=96 (local.get $sums) (local.get $below))
    (v128.store offset=112 (local.get $sums) (local.get $above)))

  ;; Counts floor(z * binsPerUnit + half) into $counts (32-bit); the z of what falls outside goes to
  ;; $rest. Returns the pointer behind the last of them.
  (func (export "count")
    (param $values i32) (param $end i32) (param $counts i32) (param $rest i32)
    (param $centre f64) (param $perUnit f64) (param $binsPerUnit f64) (param $half f64)
    (param $bins i32) (result i32)
    (local $z v128) (local $at v128) (local $bin i32)
    (loop $next
      (local.set $z
        (f64x2.mul
          (f64x2.sub (v128.load (local.get $values)) (f64x2.splat (local.get $centre)))
          (f64x2.splat (local.get $perUnit))))
      (local.set $at
        (i32x4.trunc_sat_f64x2_s_zero
          (f64x2.floor
            (f64x2.add
              (f64x2.mul (local.get $z) (f64x2.splat (local.get $binsPerUnit)))
              (f64x2.splat (local.get $half))))))
      (local.set $bin (i32x4.extract_lane 0 (local.get $at)))
      (if (i32.lt_u (local.get $bin) (local.get $bins))
        (then
          (local.set $bin
            (i32.add (local.get $counts) (i32.shl (local.get $bin) (i32.const 2))))
          (i32.store (local.get $bin)
            (i32.add (i32.load (local.get $bin)) (i32.const 1))))
        (else
          (f64.store (local.get $rest) (f64x2.extract_lane 0 (local.get $z)))
          (local.set $rest (i32.add (local.get $rest) (i32.const 8)))))
      (local.set $bin (i32x4.extract_lane 1 (local.get $at)))
      (if (i32.lt_u (local.get $bin) (local.get $bins))
        (then
          (local.set $bin
            (i32.add (local.get $counts) (i32.shl (local.get $bin) (i32.const 2))))
          (i32.store (local.get $bin)
            (i32.add (i32.load (local.get $bin)) (i32.const 1))))
        (else
          (f64.store (local.get $rest) (f64x2.extract_lane 1 (local.get $z)))
          (local.set $rest (i32.add (local.get $rest) (i32.const 8)))))
      (br_if $next
        (i32.lt_u
          (local.tee $values (i32.add (local.get $values) (i32.const 16)))
          (local.get $end))))
    (local.get $rest))
)

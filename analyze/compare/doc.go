// Package compare answers the tuner's question: does setting B differ from setting A, or is it the spread between runs?
//
// Compare takes two sets of runs. It lines the runs up along the trail (Align), gives every scalar figure its difference B − A
// with a 95 % interval and a verdict in words, says where on the trail B differs, and lists what else differed between the
// sets and could explain it. Sweep takes runs at three or more positions of one adjuster and gives the response of every figure
// to the adjuster.
//
// Like package analyze it is pure computation: no file, clock, flag or log, and no randomness but a bootstrap seeded from the data.
// The order of the runs within a set changes nothing, and changing the sets over changes only signs. Results are plain
// structs with JSON tags; what cannot be computed is absent with a reason.
//
// # What is judged
//
// Figures fall into three families (Options.Primary, Options.Context, and the rest). The primary ones are few, chosen before looking: they answer most setup
// questions, and testing few keeps power. The secondary ones are all else that describes how the fork worked, with a Holm correction
// of their own. Context figures say what was ridden or recorded; they get a difference and no verdict. Within each family
// the chance of any false "B higher" or "B lower" is held at 5 %.
//
// # Sources
//
// Welch, Biometrika 34 (1947) 28. Holm, Scand. J. Statist. 6 (1979) 65. Mann & Whitney, Ann. Math. Statist. 18 (1947) 50.
// Crawford & Howell, Clin. Neuropsychol. 12 (1998) 482 (one run against a set). Künsch, Ann. Statist. 17 (1989) 1217 (moving-block
// bootstrap). Sakoe & Chiba, IEEE Trans. ASSP 26 (1978) 43. Sen, J. Amer. Statist. Assoc. 63 (1968) 1379. Barlow et al.,
// Statistical Inference under Order Restrictions (1972). All cited from memory.
package compare

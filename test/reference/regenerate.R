# Computes again what general R packages can of reference-values.json, and prints how far each stored value is from it.
# Usage: Rscript test/reference/regenerate.R (needs jsonlite and the packages of methods.R; a few seconds). Writes nothing.

here <- dirname(sub("^--file=", "", grep("^--file=", commandArgs(), value = TRUE)))
source(file.path(here, "methods.R"))
need("jsonlite")
cases <- jsonlite::fromJSON(file.path(here, "reference-values.json"), simplifyVector = FALSE)
names(cases) <- vapply(cases, function(one) one$id, "")

numbers <- function(x) as.numeric(unlist(lapply(x, function(one) if (is.null(one)) NA else one)))
fraction <- function(text) eval(parse(text = text))
beyond <- 0
say <- function(id, ours, stored) {
  ours <- as.numeric(ours)
  stored <- if (is.list(stored)) numbers(stored) else as.numeric(stored)
  same <- length(ours) == length(stored) && all(is.na(ours) == is.na(stored))
  off <- if (same) max(0, abs(ours - stored), na.rm = TRUE) else Inf
  # Stored with 12 digits, so an exact case may differ by half of the last of them.
  over <- off > max(cases[[id]]$tolerance, 1e-11)
  if (over) beyond <<- beyond + 1
  cat(sprintf("%-30s %4d numbers, largest difference %.1e%s\n", id, length(stored), off, if (over) "  BEYOND TOLERANCE" else ""))
}

for (id in c("crit-third", "crit-half", "crit-tenth")) {
  one <- cases[[id]]
  for (alpha in names(one$expected)) {
    say(id, vapply(numbers(one$input$n), critical_of, 0, as.numeric(alpha), fraction(one$input$p0)), one$expected[[alpha]])
  }
}
one <- cases[["pvalue-one-sided"]]
say("pvalue-one-sided", vapply(one$input, function(x) {
  pbinom(x$correct - 1, x$n, fraction(x$p0), lower.tail = FALSE)
}, 0), one$expected)
for (id in grep("^ci-.*[0-9]-[0-9]+$", names(cases), value = TRUE)) {
  one <- cases[[id]]
  for (level in c(90, 95)) {
    both <- interval(c(one$input$correct, one$input$n, level / 100))
    say(id, both, c(numbers(one$expected[[paste0("clopper_pearson_", level)]]), numbers(one$expected[[paste0("wilson_", level)]])))
  }
}
tests <- c("2-AFC", "3-AFC", "triangle", "duo-trio", "tetrad")
for (i in seq_along(tests)) {
  id <- paste0("psychometric-", tests[i])
  say(id, vapply(numbers(cases[[id]]$input$dprime), function(d) psychometric(d)[i], 0), cases[[id]]$expected$pc)
}
for (id in grep("^power-", names(cases), value = TRUE)) {
  x <- cases[[id]]$input
  e <- cases[[id]]$expected
  say(id, power(c(x$n, x$alpha, x$pd, if (x$test == "duo-trio") 2 else 3)), c(e$critical, e$power, e$actual_alpha))
}

row_input <- function(rows) c(length(rows), length(rows[[1]]), numbers(rows))
e <- cases[["friedman-10x4-ties"]]$expected
say("friedman-10x4-ties", friedman(row_input(cases[["friedman-10x4-ties"]]$input$rows_are_assessors)), c(e$chisq_tie_corrected, e$p, e$kendall_W))
e <- cases[["kendall-W-zar"]]$expected
say("kendall-W-zar", friedman(row_input(cases[["kendall-W-zar"]]$input$rows_are_raters)), c(e$chisq_corrected, e$p, e$W_corrected))
e <- cases[["page-soa"]]$expected
say("page-soa", page(row_input(cases[["page-soa"]]$input$rows_are_blocks)), c(e$L, e$z, e$p_asymptotic, e$p_exact_scipy))
e <- cases[["cochran-q-10x3"]]$expected
say("cochran-q-10x3", cochran(row_input(cases[["cochran-q-10x3"]]$input$rows_are_assessors)), c(e$Q, e$p_chisq))
one <- cases[["mcnemar-exact"]]
say("mcnemar-exact", vapply(one$input, function(x) if (x$b + x$c == 0) 1 else mcnemar(c(x$b, x$c)), 0), one$expected)
one <- cases[["padjust-bh1995"]]
say("padjust-bh1995", adjust(c(15, numbers(one$input$p))), c(numbers(one$expected$holm), numbers(one$expected$BH), numbers(one$expected$bonferroni)))
e <- cases[["icc-shrout-fleiss"]]$expected
forms <- c("1,1", "2,1", "3,1", "1,k", "2,k", "3,k")
limits <- function(side) vapply(forms, function(form) e$ci95[[form]][[side]], 0)
say("icc-shrout-fleiss", icc(row_input(cases[["icc-shrout-fleiss"]]$input$rows_are_targets)), c(numbers(e$icc[forms]), limits(1), limits(2)))

wine <- function(rows, value) {
  data.frame(a = factor(vapply(rows, function(r) as.character(r[[1]]), "")), s = factor(vapply(rows, function(r) r[[2]], "")),
    y = vapply(rows, function(r) as.numeric(r[[value]]), 0))
}
data <- wine(cases[["anova-wine-replicated"]]$input$data, 4)
rows <- anova(aov(y ~ s * a, data))
say("anova-wine-replicated", rows[, "Sum Sq"], cases[["anova-wine-replicated"]]$expected$SS)
rows <- anova(aov(y ~ s + a, wine(cases[["anova-wine-unreplicated"]]$input$judge_by_product_means, 3)))
say("anova-wine-unreplicated", rows[, "Sum Sq"], cases[["anova-wine-unreplicated"]]$expected$SS)
x <- cases[["tukey-wine"]]$input
e <- cases[["tukey-wine"]]$expected
se <- sqrt(x$MS_error / x$n_per_mean)
say("tukey-wine", c(range_critical(0.05, 4, x$df), vapply(numbers(e$absdiff) / se, range_tail, 0, 4, x$df)), c(e$q, numbers(e$p)))
one <- cases[["studentized-range"]]
say("studentized-range", unlist(lapply(one$input, function(x) {
  qtukey(c(0.05, 0.01), x$k, as.numeric(x$df), lower.tail = FALSE)
})), unlist(one$expected))

need("lmerTest")
data <- wine(cases[["lmm-wine-unbalanced-rating"]]$input$data, 3)
fit <- lmerTest::lmer(y ~ s + (1 | a), data)
e <- cases[["lmm-wine-unbalanced-rating"]]$expected
f <- anova(fit)
say("lmm-wine-unbalanced-rating", c(lme4::fixef(fit), lme4::REMLcrit(fit), f[["F value"]], f[["DenDF"]]),
  c(vapply(e$coef, function(r) r[[1]], 0), e$REMLcrit, e$satterthwaite$F, e$satterthwaite$dendf))
need("ordinal")
data <- wine(cases[["lmm-wine-balanced"]]$input$ratings, 4)
data$temp <- sub(" .*", "", data$s)
data$contact <- sub(".* ", "", data$s)
e <- cases[["lmm-wine-balanced"]]$expected
fit <- lmerTest::lmer(y ~ temp + contact + (1 | a), data)
say("lmm-wine-balanced", c(lme4::fixef(fit), as.data.frame(lme4::VarCorr(fit))$vcov, anova(fit)[["F value"]], lme4::REMLcrit(fit)),
  c(unlist(e$fixef), e$var_judge, e$var_residual, unlist(e$F), e$REMLcrit))
e <- cases[["clm-clmm-wine"]]$expected
fit <- ordinal::clm(ordered(y) ~ temp + contact, data = data)
say("clm-clmm-wine", c(coef(fit), fit$logLik), c(unlist(e$clm$coef), e$clm$logLik))
fit <- ordinal::clmm(ordered(y) ~ temp + contact + (1 | a), data = data)
say("clm-clmm-wine", c(coef(fit), fit$logLik), c(unlist(e$clmm$coef), e$clmm$logLik))

one <- cases[["ca-smoke"]]
found <- correspondence(row_input(one$input$table))
say("ca-smoke", found[1:3], one$expected$principal_inertias)
x <- cases[["threshold-logistic-guessing"]]$input
e <- cases[["threshold-logistic-guessing"]]$expected
found <- threshold(c(3, rbind(numbers(x$concentration), numbers(x$n), numbers(x$correct))))
say("threshold-logistic-guessing", found[c(1, 2, 5)], c(e$b0, e$b1_per_log10, e$threshold_p_two_thirds))

cat(beyond, "beyond tolerance\n")
if (beyond > 0) quit(status = 1)

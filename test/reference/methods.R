# Methods of general R packages, one number vector in, one out: for live.R and regenerate.R.

# Without the package nothing is computed, so nobody may take the end for a good one.
need <- function(package) {
  if (!suppressPackageStartupMessages(requireNamespace(package, quietly = TRUE))) {
    cat("absent", package, "\n")
    quit(status = 3)
  }
}

# assessors x samples; the first two numbers of a case are its size.
table_of <- function(x) matrix(x[-(1:2)], nrow = x[1], ncol = x[2], byrow = TRUE)

binomial <- function(x) {
  c(pbinom(x[1] - 1, x[2], x[3], lower.tail = FALSE), pbinom(x[1], x[2], x[3]), dbinom(x[1], x[2], x[3]))
}

# Fewest right with P(X >= c) <= alpha; guess rate 1 / x[3].
critical_of <- function(n, alpha, guess) {
  most <- qbinom(alpha, n, guess, lower.tail = FALSE)
  if (most >= n) NA else most + 1
}
critical <- function(x) critical_of(x[1], x[2], 1 / x[3])

power <- function(x) {
  guess <- 1 / x[4]
  c <- critical_of(x[1], x[2], guess)
  if (is.na(c)) return(c(NA, 0, 0))
  c(c, pbinom(c - 1, x[1], guess + (1 - guess) * x[3], lower.tail = FALSE), pbinom(c - 1, x[1], guess, lower.tail = FALSE))
}

interval <- function(x) {
  exact <- binom.test(x[1], x[2], conf.level = x[3])$conf.int
  score <- suppressWarnings(prop.test(x[1], x[2], conf.level = x[3], correct = FALSE))$conf.int
  c(exact, score)
}

normal <- function(x) c(pnorm(x[1]), dnorm(x[1]), qnorm(x[2]))
chi_square <- function(x) {
  c(pchisq(x[1], x[2], lower.tail = FALSE), pchisq(x[1], x[2]), qchisq(x[3], x[2]), qchisq(x[3], x[2], lower.tail = FALSE))
}
f_ratio <- function(x) c(pf(x[1], x[2], x[3], lower.tail = FALSE), qf(x[4], x[2], x[3], lower.tail = FALSE))
student <- function(x) c(pt(x[1], x[2], lower.tail = FALSE), 2 * pt(-abs(x[1]), x[2]), qt(x[3], x[2]))

# ptukey is up to 3e-7 off at 3 to 4 degrees of freedom (seen at k = 2, where 2 pt(-q / sqrt(2), df) says the same), and
# qtukey stops at 1e-4 by its own account. So the upper tail is summed here: sums at equal steps over a normal value and over the
# logarithm of the standard deviation, both smooth and dying away, which makes such sums exact to rounding.
range_tail <- function(q, k, df) {
  z <- seq(-9, 9, by = 0.25)
  step <- 0.2 / sqrt(df)
  s <- exp(seq(-30 / df - 6 / sqrt(2 * df), 12 / sqrt(2 * df) + 0.5, by = step))
  weight <- step * s * exp(log(2) + (df / 2) * log(df / 2) - lgamma(df / 2) + (df - 1) * log(s) - df * s^2 / 2)
  below <- outer(s, z, function(s, z) k * 0.25 * dnorm(z) * (pnorm(z) - pnorm(z - q * s))^(k - 1))
  sum(weight * (1 - rowSums(below)))
}
# By secants from qtukey.
range_critical <- function(tail, k, df) {
  f <- function(q) log(range_tail(q, k, df)) - log(tail)
  q <- qtukey(tail, k, df, lower.tail = FALSE)
  was <- q * 1.001
  for (turn in 1:12) {
    slope <- (f(q) - f(was)) / (q - was)
    was <- q
    q <- q - f(q) / slope
    if (abs(q - was) < 1e-12 * q) break
  }
  q
}
studentized_range <- function(x) {
  c(range_tail(x[1], x[2], x[3]), ptukey(x[1], x[2], x[3], lower.tail = FALSE), range_critical(x[4], x[2], x[3]))
}

# Least squares of two and three: with m the largest of the three, the two lie above it by more, in all, than the other two
# of the three below. Both sums have the density of a normal sum times the chance of its halves; m is integrated out.
two_of_five <- function(d) {
  erf <- function(x) 2 * pnorm(x * sqrt(2)) - 1
  inner <- function(p) {
    middle <- d - 5 * p / 3
    ends <- c(0, pmax(middle + c(-2, 0, 2), 0), pmax(middle, 0) + 9)
    f <- function(z) erf(p + z) * exp(-0.6 * (middle - z)^2)
    pieces <- Map(function(a, b) if (b > a) integrate(f, a, b, rel.tol = 1e-12, subdivisions = 1000L)$value else 0, head(ends, -1), tail(ends, -1))
    erf(p) * exp(-p^2 / 3) * sum(unlist(pieces))
  }
  outer <- function(p) vapply(p, inner, 0)
  parts <- Map(function(a, b) integrate(outer, a, b, rel.tol = 1e-12, subdivisions = 1000L)$value, c(0, 1, 3, 6), c(1, 3, 6, 12))
  3 / (pi * sqrt(5)) * sum(unlist(parts))
}

# The integrals as printed: Ennis 1993 (from memory); tetrad: Ennis & Jesionka 2011 (from memory).
psychometric <- function(x) {
  d <- x[1]
  area <- function(f, from) integrate(f, from, Inf, rel.tol = 1e-12, abs.tol = 0, subdivisions = 1000L)$value
  a <- d / sqrt(2)
  b <- d / sqrt(6)
  c(
    pnorm(a),
    area(function(z) dnorm(z - d) * pnorm(z)^2, -Inf),
    2 * area(function(z) (pnorm(-z * sqrt(3) + d * sqrt(2 / 3)) + pnorm(-z * sqrt(3) - d * sqrt(2 / 3))) * dnorm(z), 0),
    1 - pnorm(a) - pnorm(b) + 2 * pnorm(a) * pnorm(b),
    1 - 2 * area(function(z) dnorm(z) * (2 * pnorm(z) * pnorm(z - d) - pnorm(z - d)^2), -Inf),
    two_of_five(d) + two_of_five(-d)
  )
}

fisher <- function(x) {
  m <- matrix(c(x[1], x[2] - x[1], x[3], x[4] - x[3]), 2)
  c(fisher.test(m, alternative = "greater")$p.value, fisher.test(m)$p.value)
}

# Friedman, and Kendall's W from it.
friedman <- function(x) {
  test <- friedman.test(table_of(x))
  c(test$statistic, test$p.value, test$statistic / (x[1] * (x[2] - 1)))
}

cochran <- function(x) {
  m <- table_of(x)
  k <- ncol(m)
  q <- (k - 1) * (k * sum(colSums(m)^2) - sum(m)^2) / (k * sum(m) - sum(rowSums(m)^2))
  if (is.nan(q)) c(NA, 1) else c(q, pchisq(q, k - 1, lower.tail = FALSE))
}

mcnemar <- function(x) binom.test(x[1], x[1] + x[2])$p.value

adjust <- function(x) unlist(lapply(c("holm", "BH", "bonferroni"), function(how) p.adjust(x[-1], how)))

orders <- function(v) {
  if (length(v) == 1) return(list(v))
  unlist(lapply(seq_along(v), function(i) lapply(orders(v[-i]), function(rest) c(v[i], rest))), recursive = FALSE)
}

# Page's L for the order of the columns: L, z, normal p, exact p over all orders within rows.
page <- function(x) {
  m <- t(apply(table_of(x), 1, rank))
  n <- nrow(m)
  k <- ncol(m)
  l <- sum(seq_len(k) * colSums(m))
  spread <- sum(apply(m, 1, function(r) (k^3 - k) / 12 * var(r)))
  z <- (l - n * k * (k + 1)^2 / 4) / sqrt(spread)
  sums <- c("0" = 1)
  for (i in seq_len(n)) {
    own <- vapply(orders(m[i, ]), function(r) 2 * sum(seq_len(k) * r), 0)
    reached <- outer(as.numeric(names(sums)), own, "+")
    sums <- tapply(rep(sums, length(own)) / length(own), as.vector(reached), sum)
  }
  c(l, z, pnorm(z, lower.tail = FALSE), sum(sums[as.numeric(names(sums)) >= 2 * l]))
}

# n assessors, k samples, r replicates, values by sample, assessor, replicate.
anova_input <- function(x) {
  n <- x[1]
  k <- x[2]
  r <- x[3]
  data.frame(y = x[-(1:3)], s = gl(k, n * r), a = factor(rep(rep(seq_len(n), each = r), k)))
}
two_way <- function(x) {
  data <- anova_input(x)
  rows <- if (x[3] > 1) anova(aov(y ~ s * a, data)) else anova(aov(y ~ s + a, data))
  f <- rows[1, "Mean Sq"] / rows[3, "Mean Sq"]
  c(rows[1:nrow(rows), "Sum Sq"], f, pf(f, rows[1, "Df"], rows[3, "Df"], lower.tail = FALSE))
}

# Differences of TukeyHSD; its p is rounded to 7 decimals and its limits are qtukey's, so both are made anew.
tukey <- function(x) {
  data <- anova_input(x)
  fit <- aov(y ~ s + a, data)
  error <- deviance(fit) / df.residual(fit)
  se <- sqrt(error / x[1])
  hsd <- TukeyHSD(fit, "s")$s
  q <- range_critical(0.05, x[2], df.residual(fit))
  c(q * se, hsd[, "diff"], vapply(abs(hsd[, "diff"]) / se, range_tail, 0, x[2], df.residual(fit)))
}

# Rows are units here, columns assessors.
icc <- function(x) {
  need("psych")
  found <- suppressMessages(suppressWarnings(psych::ICC(table_of(x), lmer = FALSE)))$results
  c(found$ICC, found[["lower bound"]], found[["upper bound"]])
}

cohen <- function(x) {
  need("vcd")
  found <- vcd::Kappa(matrix(x[-1], x[1], x[1], byrow = TRUE))$Unweighted
  c(found[["value"]], found[["ASE"]])
}

triples <- function(x) {
  m <- matrix(x[-1], nrow = x[1], byrow = TRUE)
  data.frame(a = factor(m[, 1]), s = factor(m[, 2]), y = m[, 3])
}

mixed <- function(x) {
  need("lme4")
  need("lmerTest")
  # The optimiser's own stopping rule leaves 1e-4 in the degrees of freedom; this one does not.
  control <- lme4::lmerControl(
    optimizer = "bobyqa", optCtrl = list(rhobeg = 0.2, rhoend = 1e-8, maxfun = 20000), calc.derivs = FALSE,
    check.conv.singular = "ignore"
  )
  fit <- suppressMessages(lmerTest::lmer(y ~ s + (1 | a), triples(x), control = control))
  f <- anova(fit)
  own <- coef(summary(fit))[-1, , drop = FALSE]
  spread <- as.data.frame(lme4::VarCorr(fit))$vcov
  c(spread, lme4::REMLcrit(fit), f[["F value"]], f[["DenDF"]], f[["Pr(>F)"]], own[, "Estimate"], own[, "Std. Error"], own[, "df"])
}

cumulative_link <- function(x) {
  need("ordinal")
  fit <- ordinal::clm(ordered(y) ~ s, data = triples(x), control = ordinal::clm.control(gradTol = 1e-10, maxIter = 200L))
  c(fit$logLik, coef(fit), sqrt(diag(vcov(fit))))
}

# clmm's gradient is made of differences: it stops up to 6e-7 of its log-likelihood below the maximum.
cumulative_link_random <- function(x) {
  need("ordinal")
  closely <- ordinal::clmm.control(gradTol = 1e-10)
  fit <- suppressWarnings(ordinal::clmm(ordered(y) ~ s + (1 | a), data = triples(x), Hess = FALSE, control = closely))
  c(fit$logLik, coef(fit), sqrt(as.numeric(ordinal::VarCorr(fit)[[1]])))
}

correspondence <- function(x) {
  m <- table_of(x)
  p <- m / sum(m)
  r <- rowSums(p)
  c <- colSums(p)
  found <- svd((p - outer(r, c)) / sqrt(outer(r, c)))
  axes <- seq_len(min(dim(m)) - 1)
  rows <- sweep(found$u[, axes, drop = FALSE] / sqrt(r), 2, found$d[axes], "*")
  columns <- sweep(found$v[, axes, drop = FALSE] / sqrt(c), 2, found$d[axes], "*")
  c(found$d[axes]^2, abs(t(rows)), abs(t(columns)))
}

# Logistic curve over a guess rate: by optim, then by half steps of Fisher's scoring from there, which ends nearer.
threshold <- function(x) {
  g <- 1 / x[1]
  m <- matrix(x[-1], ncol = 3, byrow = TRUE)
  n <- m[, 2]
  right <- m[, 3]
  design <- cbind(1, log10(m[, 1]))
  share <- function(b) g + (1 - g) * plogis(drop(design %*% b))
  loss <- function(b) -sum(dbinom(right, n, share(b), log = TRUE))
  b <- optim(c(-1, 3), loss, control = list(reltol = 1e-14, maxit = 5000))$par
  for (turn in 1:300) {
    p <- share(b)
    rate <- (1 - g) * dlogis(drop(design %*% b)) / (p * (1 - p))
    information <- crossprod(design * rate * sqrt(n * p * (1 - p)))
    b <- b + 0.5 * solve(information, drop(crossprod(design, (right - n * p) * rate)))
  }
  most <- sum(dbinom(right, n, right / n, log = TRUE))
  c(b, sqrt(diag(solve(information))), 10^(-b[1] / b[2]), 2 * (most + loss(b)))
}

# Units x assessors of ratings, 0 where one is missing; the first three numbers are units, assessors and categories. No general
# package here has the next three, so they are made from the published matrices.
ratings_of <- function(x) {
  m <- matrix(x[-(1:3)], nrow = x[1], byrow = TRUE)
  m[m == 0] <- NA
  m
}
# Units x categories: how many assessors put it there.
counts_of <- function(m, values) t(apply(m, 1, function(row) table(factor(row, levels = values))))

# Krippendorff 2011: alpha from coincidences, each unit's ordered pairs of ratings over its ratings less one.
krippendorff <- function(x) {
  m <- ratings_of(x)
  m <- m[rowSums(!is.na(m)) > 1, , drop = FALSE]
  if (nrow(m) < 2) return(rep(NA, 4))
  values <- sort(unique(as.vector(m)))
  coincidence <- Reduce(`+`, lapply(seq_len(nrow(m)), function(unit) {
    given <- factor(m[unit, !is.na(m[unit, ])], levels = values)
    pairs <- expand.grid(first = seq_along(given), second = seq_along(given))
    pairs <- pairs[pairs$first != pairs$second, ]
    table(given[pairs$first], given[pairs$second]) / (length(given) - 1)
  }))
  times <- rowSums(coincidence)
  all <- sum(times)
  between <- function(c, k) sum(times[min(c, k):max(c, k)]) - (times[c] + times[k]) / 2
  distances <- list(
    outer(values, values, "!=") + 0,
    outer(seq_along(values), seq_along(values), Vectorize(between))^2,
    outer(values, values, "-")^2,
    (outer(values, values, "-") / outer(values, values, "+"))^2
  )
  vapply(distances, function(d) 1 - (all - 1) * sum(coincidence * d) / sum(outer(times, times) * d), 0)
}

# Fleiss 1971, standard error of Fleiss, Nee & Landis 1979: kappa, agreement, by chance, standard error, p, kappa of each category.
fleiss <- function(x) {
  counts <- counts_of(ratings_of(x), seq_len(x[3]))
  n <- x[1]
  m <- x[2]
  share <- colMeans(counts) / m
  seen <- (sum(diag(tcrossprod(counts))) / n - m) / (m * (m - 1))
  chance <- drop(crossprod(share))
  kappa <- (seen - chance) / (1 - chance)
  pq <- share * (1 - share)
  error <- sqrt(2 / (n * m * (m - 1)) * (sum(pq)^2 - sum(pq * (1 - 2 * share)))) / sum(pq)
  apart <- colSums(counts * (m - counts)) / (n * m * (m - 1) * pq)
  c(kappa, seen, chance, error, 2 * pnorm(-abs(kappa / error)), 1 - apart)
}

# Gwet 2008, 2014: AC1, and kappa generalised to gaps; each with agreement, by chance, standard error over units, limits.
gwet <- function(x) {
  counts <- counts_of(ratings_of(x), seq_len(x[3]))
  counts <- counts[rowSums(counts) > 0, , drop = FALSE]
  n <- nrow(counts)
  given <- rowSums(counts)
  own <- counts / given
  share <- colMeans(own)
  paired <- given > 1
  seen <- ifelse(paired, rowSums(own * (counts - 1)) / (given - 1), NA)
  unlist(lapply(list((1 - share) / (x[3] - 1), share), function(weight) {
    chance <- sum(share * weight)
    if (!any(paired) || chance == 1) return(rep(NA, 6))
    mean_seen <- mean(seen[paired])
    value <- (mean_seen - chance) / (1 - chance)
    each <- ifelse(paired, n / sum(paired) * (seen - chance) / (1 - chance), 0)
    each <- each - 2 * (1 - value) * (drop(own %*% weight) - chance) / (1 - chance)
    error <- sqrt(sum((each - value)^2) / (n * (n - 1)))
    none <- is.nan(error) || error < 1e-14 || value < -1
    limits <- if (none) c(NA, NA) else pmin(1, pmax(-1, value + c(-1, 1) * qt(0.975, n - 1) * error))
    c(value, mean_seen, chance, error, limits)
  }))
}

# d' of one test in several pulls: test (1 triangle, 2 duo-trio, 3 2-AFC), then right and asked of each pull.
d_primes <- function(x) {
  share <- list(
    function(d) 2 * integrate(function(z) (pnorm(-z * sqrt(3) + d * sqrt(2 / 3)) + pnorm(-z * sqrt(3) - d * sqrt(2 / 3))) * dnorm(z), 0, Inf, rel.tol = 1e-12, abs.tol = 0, subdivisions = 1000L)$value,
    function(d) 1 - pnorm(d / sqrt(2)) - pnorm(d / sqrt(6)) + 2 * pnorm(d / sqrt(2)) * pnorm(d / sqrt(6)),
    function(d) pnorm(d / sqrt(2))
  )[[x[1]]]
  guess <- c(1 / 3, 1 / 2, 1 / 2)[x[1]]
  m <- matrix(x[-1], nrow = 2)
  right <- m[1, ]
  n <- m[2, ]
  ratio <- function(k) {
    log_likelihood <- function(p) sum(dbinom(k, n, p, log = TRUE))
    2 * (log_likelihood(pmax(guess, k / n)) - log_likelihood(max(guess, sum(k) / sum(n))))
  }
  observed <- ratio(right)
  # Every table with these margins, by the multivariate hypergeometric distribution.
  all <- as.matrix(expand.grid(lapply(n, function(size) 0:size)))
  all <- all[rowSums(all) == sum(right), , drop = FALSE]
  chance <- exp(rowSums(sapply(seq_along(n), function(i) lchoose(n[i], all[, i]), simplify = "matrix") |> matrix(ncol = length(n))) - lchoose(sum(n), sum(right)))
  exact <- sum(chance[apply(all, 1, ratio) >= observed - 1e-8])
  d <- sapply(right / n, function(p) {
    if (p <= guess) return(0)
    if (p == 1) return(NA)
    uniroot(function(d) share(d) - p, c(0, 15), tol = 1e-13)$root
  })
  slope <- sapply(d, function(one) if (is.na(one)) NA else (share(one + 1e-4) - share(one - 1e-4)) / 2e-4)
  weight <- n * slope^2 / (right / n * (1 - right / n))
  usable <- all(!is.na(d)) && all(d > 0)
  middle <- sum(weight * d) / sum(weight)
  spread <- sum(weight * (d - middle)^2)
  df <- length(n) - 1
  c(max(0, observed), pchisq(max(0, observed), df, lower.tail = FALSE), exact, if (usable) c(middle, spread, pchisq(spread, df, lower.tail = FALSE)) else rep(NA, 3))
}

# Assessor (another one at each pull), arm, pull, value: arm x pull, and the mean of every arm at every pull.
arms_by_pulls <- function(x) {
  need("lme4")
  need("lmerTest")
  m <- matrix(x[-1], nrow = x[1], byrow = TRUE)
  rows <- data.frame(a = factor(paste(m[, 3], m[, 1])), arm = factor(m[, 2]), pull = factor(m[, 3]), y = m[, 4])
  control <- lme4::lmerControl(
    optimizer = "bobyqa", optCtrl = list(rhobeg = 0.2, rhoend = 1e-8, maxfun = 20000), calc.derivs = FALSE,
    check.conv.singular = "ignore"
  )
  fit <- suppressMessages(lmerTest::lmer(y ~ arm * pull + (1 | a), rows, control = control))
  names <- names(lme4::fixef(fit))
  changes <- diag(length(names))[grepl(":", names), , drop = FALSE]
  f <- lmerTest::contestMD(fit, changes)
  grid <- expand.grid(arm = levels(rows$arm), pull = levels(rows$pull))
  means <- lmerTest::contest(fit, model.matrix(~ arm * pull, grid), joint = FALSE)
  c(as.data.frame(lme4::VarCorr(fit))$vcov, f[["F value"]], f[["DenDF"]], f[["Pr(>F)"]], means[["Estimate"]], means[["Std. Error"]], means[["df"]])
}

# Right and asked of each place: fisher.test, and the chi-square of the table (NA where nobody, or everybody, was right).
site_counts <- function(x) {
  yes <- x[c(TRUE, FALSE)]
  n <- x[c(FALSE, TRUE)]
  if (sum(yes) == 0 || sum(yes) == sum(n)) return(c(1, NA))
  counts <- rbind(yes, n - yes)
  c(fisher.test(counts, workspace = 2e7)$p.value, suppressWarnings(chisq.test(counts, correct = FALSE)$statistic))
}

# n people, k samples, then of each person the place and k marks: the stratum within people.
site_marks <- function(x) {
  rows <- matrix(x[-(1:2)], x[1], x[2] + 1, byrow = TRUE)
  data <- data.frame(
    y = as.vector(t(rows[, -1])),
    s = gl(x[2], 1, x[1] * x[2]),
    p = gl(x[1], x[2]),
    g = factor(rep(rows[, 1], each = x[2]))
  )
  within <- summary(aov(y ~ s * g + Error(p), data))[["Error: Within"]][[1]]
  c(within[2, "Sum Sq"], within[3, "Sum Sq"], within[2, "F value"], within[2, "Pr(>F)"])
}

# The analyses of test/bench.ts as an R user would write them: Rscript bench.R <folder> <task> <repeats> <warm-ups>.
# The folder holds what test/support/bench-r.ts wrote: size.txt and one number a line of ratings and choices. Reading is not timed.
# Prints a line 'times', a line 'with' (packages used) and a line 'numbers' that both sides have to find alike.
given <- commandArgs(trailingOnly = TRUE)
folder <- given[1]
task <- given[2]
repeats <- as.integer(given[3])
warm <- as.integer(given[4])
set.seed(1)
has <- function(package) requireNamespace(package, quietly = TRUE)
size <- as.list(read.table(file.path(folder, "size.txt"), header = TRUE))
n <- size$assessors
k <- size$samples
# Each dimension fastest first.
values <- function(file, ...) array(scan(file.path(folder, file), quiet = TRUE, na.strings = "NA"), c(...))

# Complete ratings: two-way analysis of variance, Tukey, means for assessors like these, Holm over attributes.
anova_task <- function(ratings) {
  d <- data.frame(sample = factor(rep(seq_len(k), n)), assessor = factor(rep(seq_len(n), each = k)))
  p <- numeric(size$attributes)
  found <- lapply(seq_len(size$attributes), function(attribute) {
    d$value <- as.vector(ratings[, , attribute])
    fit <- aov(value ~ assessor + sample, d)
    table <- summary(fit)[[1]]
    f <- table[["F value"]][2]
    p[attribute] <<- table[["Pr(>F)"]][2]
    pairs <- TukeyHSD(fit, "sample")$sample
    parts <- c(table[["Mean Sq"]][1], (k - 1) * table[["Mean Sq"]][3])
    df <- sum(parts)^2 / sum(parts^2 / c(n - 1, (n - 1) * (k - 1)))
    means <- tapply(d$value, d$sample, mean)
    reach <- qt(0.975, df) * sqrt(sum(parts) / (k * n))
    c(f, pairs[, "p adj"], rbind(means - reach, means + reach))
  })
  c(unlist(found), p.adjust(p, "holm"))
}

# Ratings with gaps: mixed model by REML, Satterthwaite where lmerTest is there, Tukey by hand.
mixed_task <- function(ratings) {
  d <- data.frame(sample = factor(rep(seq_len(k), n)), assessor = factor(rep(seq_len(n), each = k)))
  p <- numeric(size$attributes)
  found <- lapply(seq_len(size$attributes), function(attribute) {
    d$value <- as.vector(ratings[, , attribute])
    here <- d[!is.na(d$value), ]
    if (has("lmerTest")) {
      fit <- lmerTest::lmer(value ~ sample + (1 | assessor), here)
      test <- anova(fit)
      f <- test[["F value"]]
      p[attribute] <<- test[["Pr(>F)"]]
      pairs <- lmerTest::ls_means(fit, pairwise = TRUE)
      tukey <- ptukey(abs(pairs[["t value"]]) * sqrt(2), k, pairs[["df"]], lower.tail = FALSE)
      means <- lmerTest::ls_means(fit)
      limits <- rbind(means[["lower"]], means[["upper"]])
    } else {
      # nlme comes with R; its degrees of freedom are others, so its numbers are not compared.
      fit <- nlme::lme(value ~ sample, random = ~ 1 | assessor, data = here)
      test <- anova(fit)
      f <- test[["F-value"]][2]
      p[attribute] <<- test[["p-value"]][2]
      rows <- cbind(1, rbind(0, diag(k - 1)))
      both <- combn(k, 2)
      contrasts <- rows[both[1, ], ] - rows[both[2, ], ]
      b <- nlme::fixef(fit)
      v <- vcov(fit)
      df <- fit$fixDF$terms[["sample"]]
      t <- (contrasts %*% b) / sqrt(rowSums((contrasts %*% v) * contrasts))
      tukey <- ptukey(abs(t) * sqrt(2), k, df, lower.tail = FALSE)
      reach <- qt(0.975, df) * sqrt(rowSums((rows %*% v) * rows))
      limits <- t(cbind(rows %*% b - reach, rows %*% b + reach))
    }
    c(f, tukey, limits)
  })
  c(unlist(found), p.adjust(p, "holm"))
}

# Cochran's Q: by coin, in C, where it is there; else orders within assessors drawn by sorting random numbers within each.
cochran_p <- function(choices, draws) {
  if (has("coin")) {
    d <- data.frame(
      choice = factor(as.vector(t(choices))), sample = factor(rep(seq_len(k), n)),
      assessor = factor(rep(seq_len(n), each = k))
    )
    test <- coin::symmetry_test(choice ~ sample | assessor, d, distribution = coin::approximate(nresample = draws),
                                teststat = "quadratic")
    return(as.numeric(coin::pvalue(test)))
  }
  telling <- choices[rowSums(choices) %in% seq_len(k - 1), , drop = FALSE]
  if (nrow(telling) == 0) return(1)
  flat <- as.vector(t(telling))
  assessor <- rep(seq_len(nrow(telling)), each = k)
  seen <- sum(colSums(telling)^2)
  drawn <- replicate(draws, {
    mixed <- matrix(flat[order(assessor, runif(length(flat)))], nrow = k)
    sum(rowSums(mixed)^2)
  })
  (1 + sum(drawn >= seen)) / (draws + 1)
}

descriptors_task <- function(choices) {
  m <- size$descriptors
  pairs <- combn(k, 2)
  p <- numeric(m)
  found <- lapply(seq_len(m), function(descriptor) {
    y <- t(choices[descriptor, , ])
    totals <- colSums(y)
    per <- rowSums(y)
    q <- (k - 1) * (k * sum(totals^2) - sum(totals)^2) / (k * sum(per) - sum(per^2))
    p[descriptor] <<- cochran_p(y, size$draws)
    only <- apply(pairs, 2, function(pair) {
      c(sum(y[, pair[1]] > y[, pair[2]]), sum(y[, pair[1]] < y[, pair[2]]))
    })
    exact <- pmin(1, 2 * pbinom(pmin(only[1, ], only[2, ]), colSums(only), 0.5))
    share <- totals / n
    z <- qnorm(0.975)
    middle <- (share + z^2 / (2 * n)) / (1 + z^2 / n)
    reach <- z * sqrt(share * (1 - share) / n + z^2 / (4 * n^2)) / (1 + z^2 / n)
    c(q, p.adjust(exact, "holm"), rbind(middle - reach, middle + reach))
  })
  p.adjust(p, "BH")

  # The map: principal coordinates, and ellipses from assessors drawn with replacement.
  table <- t(apply(choices, c(1, 2), sum))
  if (has("ca")) {
    map <- ca::ca(table)
    inertia <- map$sv^2
    standard <- map$colcoord[, 1:2]
  } else {
    shares <- table / sum(table)
    r <- rowSums(shares)
    c <- colSums(shares)
    parts <- svd((shares - r %o% c) / sqrt(r %o% c))
    inertia <- parts$d[seq_len(min(dim(table)) - 1)]^2
    standard <- parts$v[, 1:2] / sqrt(c)
  }
  flat <- matrix(choices, ncol = n)
  points <- array(0, c(size$draws, k, 2))
  for (draw in seq_len(size$draws)) {
    drawn <- matrix(flat %*% tabulate(sample.int(n, n, TRUE), n), ncol = k)
    points[draw, , ] <- t(drawn) %*% standard / colSums(drawn)
  }
  ellipses <- lapply(seq_len(k), function(sample) eigen(cov(points[, sample, ])))

  # All descriptors together: whole ballots dealt within assessors.
  ballots <- t(matrix(choices, nrow = m))
  assessor <- rep(seq_len(n), each = k)
  sample <- rep(seq_len(k), n)
  columns <- colSums(ballots)
  used <- columns > 0
  chi_square <- function(counts) {
    expected <- rowSums(counts) %o% columns / sum(columns)
    sum(((counts - expected)^2 / expected)[, used])
  }
  seen <- chi_square(rowsum(ballots, sample))
  drawn <- replicate(size$draws, chi_square(rowsum(ballots[order(assessor, runif(n * k)), ], sample)))
  profile <- (1 + sum(drawn >= seen * (1 - 1e-10))) / (size$draws + 1)
  base::c(unlist(found), inertia[inertia > 1e-24], seen)
}

uuids <- function(count) {
  digits <- matrix(sample(c(0:9, letters[1:6]), 32 * count, TRUE), count)
  digits[, 13] <- "4"
  digits[, 17] <- sample(c("8", "9", "a", "b"), count, TRUE)
  text <- do.call(paste0, as.data.frame(digits))
  paste(substr(text, 1, 8), substr(text, 9, 12), substr(text, 13, 16), substr(text, 17, 20), substr(text, 21, 32), sep = "-")
}

# Codes without repeats in a session as long as they last, never twice at a seat.
codes_for <- function(cups) {
  pool <- as.character(100:999)
  pool <- pool[vapply(strsplit(pool, ""), function(code) length(unique(code)) == 3, TRUE)]
  left <- character(0)
  lapply(cups, function(count) {
    here <- head(left, count)
    left <<- tail(left, -count)
    if (length(here) < count) {
      fresh <- sample(pool)
      rest <- head(setdiff(fresh, here), count - length(here))
      left <<- setdiff(fresh, rest)
      here <- c(here, rest)
    }
    here
  })
}

draw_plan <- function(seats) {
  orders <- c("AAB", "ABA", "BAA", "BBA", "BAB", "ABB")
  served <- head(unlist(lapply(seq_len(ceiling(seats / 6)), function(block) sample(orders))), seats)
  arms <- sample(c("one", "other"))
  data.frame(
    seat = rep(seq_len(seats), each = 3), tray = rep(uuids(seats), each = 3), serving = uuids(3 * seats),
    position = rep(1:3, seats), code = unlist(codes_for(rep(3, seats))),
    sample = arms[match(unlist(strsplit(served, "")), c("A", "B"))]
  )
}

plan_sizes <- function() {
  full <- size$seats %/% 400
  c(rep(400, full), if (size$seats %% 400 > 0) size$seats %% 400)
}

plan_task <- function(...) sum(vapply(plan_sizes(), function(seats) length(unique(draw_plan(seats)$seat)), 0L))

# The seal: a nonce and a hash for each leaf, hashes joined two by two (package digest).
seal_task <- function(...) {
  sum(vapply(plan_sizes(), function(seats) {
    plan <- draw_plan(seats)
    trays <- split(plan, plan$tray)
    nonce <- function() paste(sample(c(0:9, letters[1:6]), 64, TRUE), collapse = "")
    tray_leaves <- vapply(trays, function(tray) {
      servings <- sprintf('{"code":"%s","position":%d,"sampleId":"%s"}', tray$code, tray$position, tray$sample)
      sprintf('{"body":{"id":"%s","replicate":1,"servings":[%s]},"format":"seal","kind":"tray","nonce":"%s"}',
              tray$tray[1], paste(servings, collapse = ","), nonce())
    }, "")
    seat_leaves <- vapply(trays, function(tray) {
      sprintf('{"body":{"seat":%d,"trayId":"%s"},"format":"seal","kind":"seating","nonce":"%s"}',
              tray$seat[1], tray$tray[1], nonce())
    }, "")
    few <- sprintf('{"body":{"id":"%s"},"format":"seal","kind":"sample","nonce":"%s"}', c("one", "other", "settings"), nonce())
    leaves <- c(few, sample(tray_leaves), sample(seat_leaves))
    sha <- function(bytes) digest::digest(bytes, "sha256", serialize = FALSE, raw = TRUE)
    level <- lapply(leaves, function(leaf) sha(c(as.raw(0), charToRaw(leaf))))
    while (length(level) > 1) {
      odd <- if (length(level) %% 2 == 1) level[length(level)]
      at <- seq(1, length(level) - length(odd), by = 2)
      level <- c(lapply(at, function(i) sha(c(as.raw(1), level[[i]], level[[i + 1]]))), odd)
    }
    length(leaves)
  }, 0L))
}

# Williams squares dealt out one after another, with codes.
orders_task <- function(...) {
  first <- vapply(seq_len(k) - 1, function(place) if (place %% 2 == 1) (place + 1) / 2 else (k - place / 2) %% k, 0)
  square <- outer(seq_len(k) - 1, first, "+") %% k + 1
  if (k %% 2 == 1) square <- rbind(square, square[, k:1])
  dealt <- lapply(seq_len(ceiling(size$seats / nrow(square))), function(turn) {
    matrix(sample(k)[square[sample(nrow(square)), ]], ncol = k)
  })
  orders <- head(do.call(rbind, dealt), size$seats)
  c(nrow(orders), length(codes_for(rep(k, size$seats))))
}

if (task == "seal" && !has("digest")) {
  cat("missing digest\n")
  quit(status = 0)
}
packages <- switch(task,
  mixed = if (has("lmerTest")) "lmerTest" else "nlme",
  descriptors = toString(c("base R", Filter(has, c("ca", "coin")))),
  seal = "digest",
  "base R"
)
input <- switch(task,
  anova = values("complete.txt", k, n, size$attributes),
  mixed = values("gaps.txt", k, n, size$attributes),
  descriptors = values("choices.txt", size$descriptors, k, n),
  NULL
)
run <- get(paste0(task, "_task"))
found <- NULL
for (turn in seq_len(warm)) found <- run(input)
times <- vapply(seq_len(repeats), function(turn) {
  gc(FALSE)
  started <- Sys.time()
  found <<- run(input)
  as.numeric(difftime(Sys.time(), started, units = "secs")) * 1000
}, 0)
cat("times", sprintf("%.3f", times), "\n")
cat("with", packages, "\n")
cat("numbers", sprintf("%.15g", found), "\n")

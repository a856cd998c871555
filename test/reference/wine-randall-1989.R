# Writes wine-randall-1989.json: nine judges on the bitterness of wine, as the R package ordinal ships it, with the analyses
# a general statistics package gives. Run: Rscript test/reference/wine-randall-1989.R > test/reference/wine-randall-1989.json
suppressMessages({library(lmerTest); library(ordinal); library(jsonlite)})
data(wine, package = "ordinal")
d <- data.frame(judge = as.integer(wine$judge), temp = as.character(wine$temp), contact = as.character(wine$contact),
  bottle = as.integer(as.character(wine$bottle)), response = wine$response, rating = as.integer(as.character(wine$rating)))
m <- d
m$s <- factor(paste(d$temp, d$contact))
m$a <- factor(d$judge)

close <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-10, maxfun = 1e5))
full <- lmer(response ~ s + (1 | a) + (1 | a:s), m, control = close)
mean_rows <- function(fit) {
  x <- as.data.frame(ls_means(fit, "s"))
  lapply(seq_len(nrow(x)), function(i) list(sample = x$levels[i], mean = x$Estimate[i], standardError = x[["Std. Error"]][i],
    df = x$df[i], lower = x$lower[i], upper = x$upper[i]))
}
test_of <- function(fit) {
  x <- anova(fit)
  list(f = x[["F value"]], df1 = x[["NumDF"]], df2 = x[["DenDF"]], p = x[["Pr(>F)"]])
}
spread_of <- function(fit) {
  v <- as.data.frame(VarCorr(fit))
  sd <- setNames(v$sdcor, v$grp)
  list(assessor = unname(sd["a"]), interaction = unname(sd["a:s"]), residual = unname(sd["Residual"]))
}
pair_rows <- function(fit) {
  x <- as.data.frame(ls_means(fit, "s", pairwise = TRUE))
  lapply(seq_len(nrow(x)), function(i) list(pair = x$levels[i], difference = x$Estimate[i], standardError = x[["Std. Error"]][i],
    df = x$df[i], pTukey = ptukey(abs(x[["t value"]][i]) * sqrt(2), 4, x$df[i], lower.tail = FALSE)))
}
rows <- anova(aov(response ~ s * a, m))
mixed_f <- rows["s", "Mean Sq"] / rows["s:a", "Mean Sq"]
cells <- tapply(m$response, list(m$a, m$s), mean)
friedman <- friedman.test(cells)

dropped <- c(3, 10, 11, 24, 29, 38, 46, 47, 55, 70)
gaps <- lmer(response ~ s + (1 | a) + (1 | a:s), m[-dropped, ], control = close)

cat(toJSON(list(
  source = "Randall J (1989) The analysis of sensory data by generalised linear model, Biometrical Journal 31:781-793; data set wine of the R package ordinal",
  made = paste0("R ", getRversion(), ", lmerTest ", packageVersion("lmerTest"),
    ", ordinal ", packageVersion("ordinal")),
  rows = d,
  balanced = list(anova = list(f = mixed_f, df1 = 3, df2 = 24, p = pf(mixed_f, 3, 24, lower.tail = FALSE)),
    means = mean_rows(full), spread = spread_of(full),
    friedman = list(chiSquare = unname(friedman$statistic), p = friedman$p.value)),
  missing = list(dropped = dropped, test = test_of(gaps), means = mean_rows(gaps), spread = spread_of(gaps),
    pairs = pair_rows(gaps))
), dataframe = "rows", auto_unbox = TRUE, digits = 12, pretty = FALSE), "\n")

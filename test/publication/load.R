# Loads every table of an unpacked data package with base R alone, types written out by hand, and tells what it found:
# 'table rows column:type ...'. Reading fails where a value does not fit its type.
folder <- commandArgs(trailingOnly = TRUE)[1]

whole <- c("session", "part", "seated", "assessors", "withdrawn", "leaves", "replicate", "position", "named",
           "answers", "served", "counted", "leaf", "keyReaders", "keyReadersInvited",
           "day", "months")
decimals <- c("value", "ph", "gravity", "temperatureC")

for (file in c("sessions", "arms", "samples", "trays", "answers", "descriptor-counts", "orders", "figures", "seal",
               "making", "fair-test", "readings", "tastings", "report")) {
  path <- file.path(folder, paste0(file, ".csv"))
  columns <- names(read.csv(path, nrows = 1, check.names = FALSE))
  # What is known of a field of an arm, or of an item of a report, stands in words.
  decimal <- if (file %in% c("making", "report")) character() else decimals
  classes <- ifelse(columns %in% whole, "integer", ifelse(columns %in% decimal, "numeric", "character"))
  table <- read.csv(path, colClasses = classes, na.strings = "", encoding = "UTF-8", check.names = FALSE)
  stopifnot(nrow(table) > 0, is.null(table$session) || all(table$session >= 1, na.rm = file == "report"))
  if (file == "trays") stopifnot(nchar(table$code) == 3, !anyNA(table$sample))
  if (file == "figures") stopifnot(is.na(table$value) | is.finite(table$value), !any(!is.na(table$value) & !is.na(table$text)))
  found <- vapply(table, function(column) class(column)[1], "")
  cat(paste(c(file, nrow(table), paste0(columns, ":", found)), collapse = " "), "\n", sep = "")
}

# A figure as published and as counted from the answers: people who answered the triangle.
if (file.exists(file.path(folder, "answers.csv"))) {
  answers <- read.csv(file.path(folder, "answers.csv"), na.strings = "", encoding = "UTF-8")
  figures <- read.csv(file.path(folder, "figures.csv"), na.strings = "", encoding = "UTF-8")
  asked <- answers$kind == "triangle" & answers$question == "choice"
  published <- figures$value[figures$kind == "triangle" & figures$figure == "test.answers"]
  stopifnot(length(published) == 1, length(unique(answers$person[asked])) == published)
}

module samelift

go 1.25.0

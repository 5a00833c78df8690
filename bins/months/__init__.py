"""The month: sums over the books, the rows behind them, and the day after which corrections show."""

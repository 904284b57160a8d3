"""The log as files for others: exports and reports. Reads the record, changes nothing."""

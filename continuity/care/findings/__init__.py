"""The findings of the closing check, by what they are about; `closing` lists the modules."""

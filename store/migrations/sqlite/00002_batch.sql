-- +goose Up
alter table operations add column batch text not null default '';
create index operations_batch on operations (batch);

-- +goose Down
drop index operations_batch;
alter table operations drop column batch;
